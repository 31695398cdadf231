"""Writing to a file that others may be writing to as well: all of it or nothing, one after the other.

A file is read, changed and moved into place under a lock that lies outside the project's folders. What
an editor put there stays as it is: a byte order mark, the kind of line ends, bytes that are no UTF-8.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Iterable, Iterator

BOM = "\ufeff"


def append(path: str, lines: Iterable[str]) -> None:
    """Add lines at the end. A last line without its end is given one first.

    Raises `OSError` where the file cannot be read or written; nothing is lost then.
    """
    added = list(lines)
    change(path, lambda text: with_lines(text, added))


def replace(path: str, text: str) -> None:
    """Put a text in place of the old one, with the old one's byte order mark and line ends.

    The lines of `text` end with a line feed alone. Whether its last line has an end is kept as given.
    """

    def new(old: str) -> str:
        mark = BOM if old.startswith(BOM) else ""
        return mark + text.replace("\n", line_end(old))

    change(path, new)


def change(path: str, edit: Callable[[str], str]) -> bool:
    """Read a file, change its text and move the new one into place; False where nothing changed.

    The text is given and taken with its mark, its line ends and, as lone surrogates, the bytes that are
    not UTF-8. Where `edit` raises, the file stays as it was.
    """
    real = os.path.realpath(path)
    with _locked(real):
        with open(real, "rb") as stream:
            data = stream.read()
        changed = edit(data.decode("utf-8", "surrogateescape")).encode("utf-8", "surrogateescape")
        if changed == data:
            return False
        put(path, changed)
    return True


def create(path: str, text: str) -> None:
    """Write a new file; `FileExistsError` where there is one already, which then stays as it is."""
    part = _part_of(path)
    try:
        _write(part, text.encode(), None)
        try:
            os.link(part, path)  # refuses a name that is taken, and shows no half-written file
        except FileExistsError:
            raise
        except OSError:  # a file system without links
            with open(path, "x", encoding="utf-8", newline="") as stream:
                stream.write(text)
    except OSError as error:
        raise _about(error, path) from None
    finally:
        with contextlib.suppress(OSError):
            os.unlink(part)


def put(path: str, data: bytes) -> None:
    """Write a file that is made anew each time, all of it or nothing; what stood there is replaced.

    Raises `OSError` where it cannot be written; what stood there stays then.
    """
    real = os.path.realpath(path)
    part = _part_of(real)
    try:
        _write(part, data, os.stat(real) if os.path.exists(real) else None)
        os.replace(part, real)
    except OSError as error:
        with contextlib.suppress(OSError):
            os.unlink(part)
        raise _about(error, path) from None
    except BaseException:  # interrupted: no half file stays behind
        with contextlib.suppress(OSError):
            os.unlink(part)
        raise
    _keep_folder(os.path.dirname(real))


def with_lines(text: str, lines: Iterable[str]) -> str:
    """A text with lines behind it, ended as its own lines are."""
    end = line_end(text)
    joined = text if not text.removeprefix(BOM) or text.endswith("\n") else text + end
    return joined + "".join(line + end for line in lines)


def line_end(text: str) -> str:
    """CR LF where the first line ends so, else LF."""
    at = text.find("\n")
    return "\r\n" if at > 0 and text[at - 1] == "\r" else "\n"


# ---- the file ----------------------------------------------------------------------------------------
def _part_of(path: str) -> str:
    """A hidden name beside the file, which reading a folder passes over, and which nobody else takes."""
    folder, name = os.path.split(path)
    return os.path.join(folder, f".{name[:40]}.{os.urandom(6).hex()}.new")


def _write(part: str, data: bytes, like: os.stat_result | None) -> None:
    with open(part, "xb") as stream:
        if like is not None:
            os.chmod(part, like.st_mode & 0o7777)
            if sys.platform != "win32" and like.st_uid != os.getuid():
                with contextlib.suppress(OSError):  # only the administrator may keep another's ownership
                    os.chown(part, like.st_uid, like.st_gid)
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def _keep_folder(folder: str) -> None:
    """Have the new name on the disk too, where folders can be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder or os.curdir, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _about(error: OSError, path: str) -> OSError:
    """The same error, named for the file that was meant and not for its new copy."""
    return type(error)(error.errno, f"not written: {(error.strerror or str(error)).lower()}", path)


# ---- the lock ----------------------------------------------------------------------------------------
@contextlib.contextmanager
def _locked(real: str) -> Iterator[None]:
    """Hold the lock of a file. The lock's own file stays: taking it away would let two in at once."""
    handle = _open_lock(_lock_of(real))
    try:
        _lock(handle)
        yield
    finally:
        os.close(handle)  # which lets the lock go


def _lock_of(real: str) -> str:
    from hashlib import sha256
    from tempfile import gettempdir

    name = sha256(os.fsencode(os.path.normcase(real))).hexdigest()[:32]
    return os.path.join(gettempdir(), f"sitelog-{name}.lock")


def _open_lock(path: str) -> int:
    flags = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0)
    if sys.platform == "win32":
        return os.open(path, os.O_RDWR | os.O_CREAT | flags)
    else:
        try:
            return os.open(path, os.O_RDONLY | flags)  # another user's lock can be opened, not made anew
        except FileNotFoundError:
            return os.open(path, os.O_RDONLY | os.O_CREAT | flags, 0o644)


if sys.platform == "win32":

    def _lock(handle: int) -> None:
        import msvcrt
        import time

        while True:
            try:
                msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
            except OSError:  # someone else has it
                time.sleep(0.05)
            else:
                return

else:

    def _lock(handle: int) -> None:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX)

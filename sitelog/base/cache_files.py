"""Cache files: read where they are whole and of this very version, else passed over and made again.

A file holds marshalled tuples, numbers and words behind a checksum, and nothing that runs. It begins with
what it was made for (grammar, Lark, Python, code). A file that was made for another version is not used.
"""

from __future__ import annotations

import marshal
import os
import sys
from collections.abc import Iterable
from zlib import adler32, crc32

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

LARGEST = 400_000
"""Bytes; a larger file is not ours, or has grown past being quick to read."""


_folder = ""


def keep_in(folder: str) -> None:
    """Where rooms that are loaded from now on keep their files; empty is nowhere."""
    global _folder
    _folder = folder


def kept_in() -> str:
    """The folder of `keep_in`."""
    return _folder


def made_for(what: str, code: Iterable[str], texts: Iterable[str]) -> str:
    """A line that is equal for equal Python, Lark, files of code and texts, such as those of a grammar."""
    files = (_lark(), *code)
    whole = "\0".join((sys.version, *(f"{file} {_stamp(file)}" for file in files), *texts)).encode()
    return f"sitelog {what}: {len(whole)} {crc32(whole):08x} {adler32(whole):08x}"


def read(path: str, version: str) -> tuple[Any, ...] | None:
    """The parts of a file; nothing where there is none, or it is damaged, foreign or of another version."""
    try:
        if os.path.getsize(path) > LARGEST:
            return None
        with open(path, "rb") as stream:
            head, body = stream.read(8), stream.read()
        if head != _checksum(body):
            return None
        found, *parts = marshal.loads(body)
        return tuple(parts) if found == version else None
    except (OSError, ValueError, TypeError, EOFError):
        return None


def write(path: str, version: str, *parts: Any) -> bool:
    """Keep the parts; False where they are too large or cannot be written.

    The file is written beside and moved into place, so that a reader never sees half of it.
    """
    body = marshal.dumps((version, *parts))
    if len(body) > LARGEST:
        return False
    new = f"{path}.{os.getpid()}.new"
    try:
        os.makedirs(os.path.dirname(path) or ".", exist_ok=True)
        with open(new, "wb") as stream:
            stream.write(_checksum(body) + body)
        os.replace(new, path)
    except OSError:
        if os.path.exists(new):
            os.unlink(new)
        return False
    return True


def _lark() -> str:
    """Where Lark is, found without loading it, or what finds modules."""
    for folder in sys.path:
        place = os.path.join(folder, "lark", "__init__.py")
        if os.path.exists(place):
            return place
    return ""


def _stamp(path: str) -> str:
    """What tells a file that was put there anew, without reading it; its second time cannot be set."""
    try:
        found = os.stat(path)
    except OSError:
        return ""
    return f"{found.st_size} {found.st_mtime_ns} {found.st_ctime_ns} {found.st_ino}"


def _checksum(body: bytes) -> bytes:
    return b"%08x" % crc32(body)

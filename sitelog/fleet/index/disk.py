"""What stands on the disk, told cheaply by stamps and surely by digests."""

from __future__ import annotations

import marshal
import os
from collections.abc import Container, Iterable, Mapping

from sitelog.base.frozen import NamedTuple
from sitelog.files.source import Source, discover, from_bytes, is_repository, named_in, read, role_of
from sitelog.findings.finding import Finding

try:
    from _blake2 import blake2b  # what hashlib has; that loads OpenSSL too, at every start
except ImportError:
    from hashlib import blake2b

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias

SLACK = 2_000_000_000
"""Nanoseconds. A file changed so shortly before it was looked at may change again and keep its stamp: the
clocks of file systems tick every few milliseconds, those of some every two seconds."""

Thing = tuple[str, str]
"""A kind (`log`, `sheet`, `kit`, `file`, `folder`, `repository`) and a path."""

Stamp: TypeAlias = "tuple[Any, ...]"
"""What tells cheaply that a thing changed. Of a file size, time of change, of its inode, inode, mode: of what
a link leads to. Nothing where there is no file, a word where it is something else."""

WATCHED = ("file", "folder", "repository")
"""The kinds of things that are looked at because a judgement needed them."""

_REGULAR = 0o100000, 0o170000  # what a mode says of a file, and its bits that say such things
_AS_BEFORE = 2  # the newest version of marshal in which equal things have equal bytes


class Picture(NamedTuple):
    """The files found, with their stamps, and the stamps of other things that judgements need."""

    files: dict[str, Stamp]
    things: dict[Thing, Stamp]
    findings: tuple[Finding, ...]  # what is wrong with the paths
    given: frozenset[str]  # the real paths of the sheets and kits among the files: no folder tells of them

    def stamp(self, kind: str, path: str) -> Stamp:
        """The stamp of a file found, or of another thing."""
        return self.things[kind, path] if kind in WATCHED else self.files[path]

    @property
    def digest(self) -> str:
        """Equal for equal pictures."""
        parts = (self.files, dict(sorted(self.things.items())), [repr(one) for one in self.findings])
        return digest(marshal.dumps(parts, _AS_BEFORE))


def look(paths: Iterable[str], things: Iterable[Thing]) -> Picture:
    """Take the picture: list the paths, and stamp everything."""
    files, findings = discover(paths)
    wanted = list(things)
    given: frozenset[str] = frozenset()
    if any(kind == "folder" for kind, _ in wanted):
        given = given_of(files)
    return Picture(
        {path: stamp_of_file(path) for path in files},
        {thing: stamp(*thing, given) for thing in wanted},
        tuple(findings),
        given,
    )


def given_of(files: Iterable[str]) -> frozenset[str]:
    """The real paths of the sheets and kits among files."""
    return frozenset(
        os.path.realpath(path)
        for path in files
        if not path.endswith(".site") and role_of(path) in ("sheet", "kit")
    )


def packed(stamps: Mapping[Any, Stamp]) -> bytes:
    """Stamps to be kept."""
    return marshal.dumps(dict(stamps), _AS_BEFORE)


def unpacked(kept: bytes) -> dict[Any, Stamp]:
    """Stamps as they were kept; none where nothing was."""
    found: dict[Any, Stamp] = marshal.loads(kept) if kept else {}
    return found


def digest(data: bytes) -> str:
    """A digest of bytes, in hexadecimal digits."""
    return blake2b(data, digest_size=16).hexdigest()


def stamp_of_file(path: str) -> Stamp:
    """The stamp of a file."""
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return ()
    mode = found.st_mode
    if mode & _REGULAR[1] != _REGULAR[0]:
        return ("no file",)
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino, mode


def stamp(kind: str, path: str, given: Container[str] = ()) -> Stamp:
    """The stamp of a thing: of a folder, the sheets and kits in it; of a repository, whether it is one."""
    if kind == "folder":
        return tuple([(name, stamp_of_file(name)) for name in named_in(path) if name not in given])
    if kind == "repository":
        return ("1" if is_repository(path) else "0",)
    return stamp_of_file(path) if _is_there(path) else ()


def _is_there(path: str) -> bool:
    """Many photos are not, which `stat` says by an error: that takes five times as long."""
    try:
        return os.access(path, os.F_OK)
    except ValueError:
        return False


def is_unsure(thing: Thing, seen: Stamp, now: int, given: Container[str] = ()) -> bool:
    """Whether a thing changed so late (or in the future) that the stamp seen may hide another change.

    Of what is not there, the folder says when it changed.
    """
    kind, path = thing
    if kind not in ("folder", "repository") and len(seen) > 1:
        return bool(max(seen[1], seen[2]) > now - SLACK)
    places = [path]
    if kind == "folder":
        places += [name for name in named_in(path) if name not in given]
    return any(_changed(place) > now - SLACK for place in places)


def content(kind: str, path: str, given: Container[str] = ()) -> str:
    """The digest of what a thing holds: equal where nothing that a judgement can see has changed."""
    if kind == "folder":
        parts = [f"{name}\0{_of_file(name)}" for name in named_in(path) if name not in given]
        return digest("\n".join(parts).encode("utf-8", "surrogateescape"))
    if kind == "repository":
        return "1" if is_repository(path) else "0"
    return _of_file(path)


def read_with_digest(path: str) -> tuple[Source, str]:
    """The lines of a file, and the digest of the very bytes they were read from."""
    try:
        with open(path, "rb") as stream:
            data = stream.read()
    except OSError:
        return read(path), _of_file(path)
    return from_bytes(data, path), digest(data)


def _of_file(path: str) -> str:
    try:
        if not os.path.isfile(path):
            return "none"
        with open(path, "rb") as stream:
            hashed = blake2b(digest_size=16)
            while block := stream.read(1 << 20):
                hashed.update(block)
    except (OSError, ValueError) as error:
        return f"unreadable: {error}"
    return hashed.hexdigest()


def _changed(path: str) -> int:
    for place in (path, os.path.dirname(path) or os.curdir):
        try:
            found = os.stat(place)
        except (OSError, ValueError):
            continue
        return max(found.st_mtime_ns, found.st_ctime_ns)
    return 0

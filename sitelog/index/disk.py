"""What stands on the disk, told cheaply by stamps and surely by digests."""

from __future__ import annotations

import os
import stat
from collections.abc import Container, Iterable
from hashlib import blake2b

from sitelog.findings.finding import Finding
from sitelog.frozen import NamedTuple
from sitelog.source import Source, discover, from_bytes, is_repository, named_in, read, role_of

SLACK = 2_000_000_000
"""Nanoseconds. A file changed so shortly before it was looked at may change again and keep its stamp: the
clocks of file systems tick every few milliseconds, those of some every two seconds."""

Thing = tuple[str, str]
"""A kind (`log`, `sheet`, `kit`, `file`, `folder`, `repository`) and a path."""


class Stamp(NamedTuple):
    """What tells cheaply that a thing changed, and when it changed last, in nanoseconds."""

    text: str
    changed: int

    def unsure(self, now: int) -> bool:
        """Whether it changed so late (or in the future) that the stamp may hide another change."""
        return self.changed > now - SLACK


class Picture(NamedTuple):
    """The files found, with their stamps, and the stamps of other things that judgements need."""

    files: dict[str, Stamp]
    things: dict[Thing, Stamp]
    findings: tuple[Finding, ...]
    given: frozenset[str]  # the real paths of the sheets and kits among the files: no folder tells of them

    @property
    def digest(self) -> str:
        """Equal for equal pictures."""
        parts = [
            *(f"{path}\0{stamp.text}" for path, stamp in self.files.items()),
            "",
            *(f"{kind}\0{path}\0{stamp.text}" for (kind, path), stamp in sorted(self.things.items())),
            *map(repr, self.findings),
        ]
        return digest("\n".join(parts).encode("utf-8", "surrogateescape"))


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
    return frozenset(os.path.realpath(path) for path in files if role_of(path) in ("sheet", "kit"))


def digest(data: bytes) -> str:
    """A digest of bytes, in hexadecimal digits."""
    return blake2b(data, digest_size=16).hexdigest()


def stamp_of_file(path: str) -> Stamp:
    """Size, times, inode; of what a link leads to. Without a file, the folder says when it changed."""
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return Stamp("", _changed(os.path.dirname(path) or os.curdir))
    if not stat.S_ISREG(found.st_mode):
        return Stamp("no file", max(found.st_mtime_ns, found.st_ctime_ns))
    text = f"{found.st_size} {found.st_mtime_ns} {found.st_ctime_ns} {found.st_ino} {found.st_mode}"
    return Stamp(text, max(found.st_mtime_ns, found.st_ctime_ns))


def stamp(kind: str, path: str, given: Container[str] = ()) -> Stamp:
    """The stamp of a thing: of a folder, the sheets and kits in it; of a repository, whether it is one."""
    if kind == "folder":
        files = {name: stamp_of_file(name) for name in named_in(path) if name not in given}
        changed = max([_changed(path), *(one.changed for one in files.values())])
        listed = "\n".join(f"{name}\0{one.text}" for name, one in files.items())
        return Stamp(digest(listed.encode("utf-8", "surrogateescape")), changed)
    if kind == "repository":
        return Stamp("1" if is_repository(path) else "0", _changed(path))
    return stamp_of_file(path)


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


def _changed(folder: str) -> int:
    try:
        found = os.stat(folder)
    except (OSError, ValueError):
        return 0
    return max(found.st_mtime_ns, found.st_ctime_ns)

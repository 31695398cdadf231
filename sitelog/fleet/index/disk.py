"""What stands on the disk, told cheaply by what `stat` says and surely by digests."""

from __future__ import annotations

import marshal
import os
from collections.abc import Container, Iterable, Mapping
from hashlib import blake2b

from sitelog.base.frozen import NamedTuple
from sitelog.files.source import Source, discover, from_bytes, is_repository, named_in, read, role_of
from sitelog.findings.finding import Finding

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias

SLACK = 2_000_000_000
"""Nanoseconds. A file changed so shortly before it was looked at may change again and keep its mtime: the
clocks of file systems tick every few milliseconds, those of some every two seconds."""

Dependency = tuple[str, str]
"""A kind (`log`, `sheet`, `kit`, `file`, `folder`, `repository`) and a path."""

FileStat: TypeAlias = "tuple[Any, ...]"
"""What tells cheaply that a dependency changed. Of a file its size, mtime and ctime in nanoseconds, inode and
mode, of what a link leads to. Nothing where there is no file, a word where it is something else."""

WATCHED = ("file", "folder", "repository")
"""The kinds of dependencies that are looked at because a judgement needed them."""

_REGULAR = 0o100000, 0o170000  # what a mode says of a file, and its bits that say so
_AS_BEFORE = 2  # the newest version of marshal in which equal objects have equal bytes


class Snapshot(NamedTuple):
    """What `stat` says of the files found, and of other dependencies of judgements."""

    files: dict[str, FileStat]
    dependencies: dict[Dependency, FileStat]
    findings: tuple[Finding, ...]  # what is wrong with the paths
    given: frozenset[str]  # the real paths of the sheets and kits among the files: no folder tells of them

    def stat_of(self, kind: str, path: str) -> FileStat:
        """What `stat` says of a file found, or of another dependency."""
        return self.dependencies[kind, path] if kind in WATCHED else self.files[path]

    @property
    def digest(self) -> str:
        """Equal for equal snapshots."""
        findings = [repr(finding) for finding in self.findings]
        parts = (self.files, dict(sorted(self.dependencies.items())), findings)
        return digest(marshal.dumps(parts, _AS_BEFORE))


def take_snapshot(paths: Iterable[str], dependencies: Iterable[Dependency]) -> Snapshot:
    """Take the snapshot: list the paths, and ask `stat` of everything."""
    files, findings = discover(paths)
    wanted = list(dependencies)
    given: frozenset[str] = frozenset()
    if any(kind == "folder" for kind, _ in wanted):
        given = given_of(files)
    return Snapshot(
        {path: stat_of_file(path) for path in files},
        {dependency: stat_of(*dependency, given) for dependency in wanted},
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


def packed(stats: Mapping[Any, FileStat]) -> bytes:
    """What `stat` said, to be kept."""
    return marshal.dumps(dict(stats), _AS_BEFORE)


def unpacked(data: bytes) -> dict[Any, FileStat]:
    """What `stat` said, as it was kept; nothing where nothing was."""
    found: dict[Any, FileStat] = marshal.loads(data) if data else {}
    return found


def digest(data: bytes) -> str:
    """A digest of bytes, in hexadecimal digits."""
    return blake2b(data, digest_size=16).hexdigest()


def stat_of_file(path: str) -> FileStat:
    """What `stat` says of a file."""
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return ()
    mode = found.st_mode
    if mode & _REGULAR[1] != _REGULAR[0]:
        return ("no file",)
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino, mode


def stat_of(kind: str, path: str, given: Container[str] = ()) -> FileStat:
    """The same of a dependency: of a folder, its sheets and kits; of a repository, whether it is one."""
    if kind == "folder":
        return tuple([(name, stat_of_file(name)) for name in named_in(path) if name not in given])
    if kind == "repository":
        return ("1" if is_repository(path) else "0",)
    return stat_of_file(path) if _is_there(path) else ()


def _is_there(path: str) -> bool:
    """Many photos are not, which `stat` says by an error: that takes five times as long."""
    try:
        return os.access(path, os.F_OK)
    except ValueError:
        return False


def is_too_recent(dependency: Dependency, seen: FileStat, now: int, given: Container[str] = ()) -> bool:
    """Whether a dependency's mtime is too recent (or in the future) to detect a later edit.

    `seen` is what `stat` said, `now` the time in nanoseconds. For what is not there, the folder's mtime
    counts.
    """
    kind, path = dependency
    if kind not in ("folder", "repository") and len(seen) > 1:
        return bool(max(seen[1], seen[2]) > now - SLACK)
    places = [path]
    if kind == "folder":
        places += [name for name in named_in(path) if name not in given]
    return any(_changed(place) > now - SLACK for place in places)


def content(kind: str, path: str, given: Container[str] = ()) -> str:
    """The digest of what a dependency holds: equal where nothing that a judgement can see has changed."""
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

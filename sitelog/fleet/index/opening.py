"""The index of some paths, opened: brought up to date where the disk has changed, else made anew."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from enum import Enum

from sitelog.asking.store.keeping import BusyError, DamagedError, KeptFile, KeptStore
from sitelog.base.frozen import NamedTuple
from sitelog.fleet.index.disk import Snapshot, content, digest, is_too_recent, take_snapshot, unpacked
from sitelog.fleet.index.request import IndexRequest

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import TypeVar

    Given = TypeVar("Given")

if TYPE_CHECKING:  # where nothing has changed, nothing that judges is loaded
    from sitelog.judging.judged import Summary


_ENDING = ".index"
_TRIES = 3
_MOST = 12  # of other paths, that stay


class NotServingError(Exception):
    """There can be no index (any more): then read the files themselves."""


class Index:
    """The rows of every site as they stand on a day, and what stands beside an answer."""

    def __init__(self, store: KeptStore, asked: IndexRequest) -> None:
        self._store = store
        self._asked = asked
        self._state = _state(store)
        self.readable = bool(store.fact("readable"))
        self.errors = int(store.fact("errors") or 0)
        self.loud = [_summary(fields) for fields in store.summaries(loud=True)]
        store.end()

    @property
    def sites(self) -> list[Summary]:
        """Every site in figures."""
        return self.use((), lambda store: [_summary(fields) for fields in store.summaries()])

    def use(self, histories: Iterable[str], use: Callable[[KeptStore], Given]) -> Given:
        """What the rows give, those of these histories among them; NotServingError where they do not.

        All that is read at once is of one state, whatever others write; while nothing is read, they may.
        """
        self._asked = self._asked._replace(histories=tuple({*self._asked.histories, *histories}))
        try:
            for _ in range(_TRIES):
                self._store.begin()
                try:
                    is_there = set(self._asked.histories) <= set(self._store.fact("histories").split())
                    if is_there and _state(self._store) == self._state:
                        return use(self._store)
                finally:
                    self._store.end()
                self.close()
                newer = _opened(self._asked)
                if newer is None:
                    break
                self._store, self._state, self.readable = newer._store, newer._state, newer.readable
                self.errors, self.loud = newer.errors, newer.loud
        except DamagedError:
            self.close()
            _remove(self._store.path)
        except BusyError:
            self.close()
        raise NotServingError

    def close(self) -> None:
        """Let go of the file."""
        self._store.close()


def open_index(request: IndexRequest) -> Index | None:
    """The index that is asked for, brought up to date.

    None where there can be none: then read the files themselves.
    """
    if not request.folder or "-" in request.paths:
        return None
    return _opened(request)


class Freshness(Enum):
    """How an index stands to the disk."""

    FRESH = "nothing changed"
    TRUSTED = "nothing changed, and some mtimes are no longer too recent to detect a later edit"
    STALE = "something changed"


class _Look(NamedTuple):
    """What a look at an index and the disk showed; `opened` is None where it is stale or cannot be read."""

    opened: Index | None
    freshness: Freshness
    known: str = ""  # the digest of the snapshot that the index has
    snapshot: Snapshot | None = None  # of the disk now


def _opened(asked: IndexRequest) -> Index | None:
    try:
        os.makedirs(asked.folder, exist_ok=True)
        version = _version()
        for _ in range(_TRIES):
            now = asked.clock()
            path = _existing(asked)
            seen = _look(path, version, asked, now) if path else _Look(None, Freshness.STALE)
            if seen.opened is not None:
                if seen.freshness is Freshness.FRESH:
                    return seen.opened
                seen.opened.close()
            path = _existing(asked)
            is_new = not path
            path = path or _new_file(asked, now)
            try:
                trusted = None
                if seen.opened is not None and seen.snapshot is not None and not is_new:
                    trusted = _trusted(path, version, asked, now, seen.snapshot)
                return trusted or _refreshed(path, version, asked, now, seen)
            except DamagedError:
                _remove(path)
            except BaseException as error:
                if is_new:
                    _remove(path)
                if isinstance(error, BusyError) and seen.opened is not None:
                    return _look(path, version, asked, now).opened
                raise
    except (OSError, BusyError):
        return None
    return None


def _state(store: KeptStore) -> tuple[str, str]:
    return store.fact("snapshot"), store.fact("today")


def _look(path: str, version: str, asked: IndexRequest, now: int) -> _Look:
    """Look at an index. It is only read, so that others may write."""
    store: KeptStore | None = None
    seen = _Look(None, Freshness.STALE)
    try:
        store = KeptStore(path, version, writing=False)
        snapshot = take_snapshot(asked.paths, unpacked(store.packed("things")))
        seen = seen._replace(known=store.fact("snapshot"), snapshot=snapshot)
        freshness = _freshness(store, asked, now, snapshot)
        if freshness is not Freshness.STALE:
            return seen._replace(opened=Index(store, asked), freshness=freshness)
    except BusyError:
        pass
    except DamagedError:
        _remove(path)
    if store is not None:
        store.close()
    return seen


def _freshness(store: KeptStore, asked: IndexRequest, now: int, snapshot: Snapshot) -> Freshness:
    day = asked.today.isoformat()
    if store.fact("today") != day or not set(asked.histories) <= set(store.fact("histories").split()):
        return Freshness.STALE
    if snapshot.digest != store.fact("snapshot"):
        return Freshness.STALE
    unsure = store.files(unsure=True)
    if any(content(file.kind, file.path, snapshot.given) != file.digest for file in unsure):
        return Freshness.STALE
    is_same = all(_is_too_recent(file, now, snapshot) for file in unsure)
    return Freshness.FRESH if is_same else Freshness.TRUSTED


def _is_too_recent(file: KeptFile, now: int, snapshot: Snapshot) -> bool:
    dependency = file.kind, file.path
    return is_too_recent(dependency, snapshot.stat_of(*dependency), now, snapshot.given)


def _trusted(path: str, version: str, asked: IndexRequest, now: int, snapshot: Snapshot) -> Index | None:
    """The index with the files written down whose mtimes can be trusted now, so that they are not read again.

    None where something has changed since the snapshot.
    """
    store = KeptStore(path, version, writing=True)
    try:
        if _freshness(store, asked, now, snapshot) is Freshness.STALE:
            store.close()
            return None
        store.keep_files(
            file._replace(unsure=False)
            for file in store.files(unsure=True)
            if not _is_too_recent(file, now, snapshot)
        )
        return Index(store, asked)
    except BaseException:
        store.close()
        raise


def _refreshed(path: str, version: str, asked: IndexRequest, now: int, seen: _Look) -> Index:
    from sitelog.fleet.index.refreshing import Refreshing

    store = KeptStore(path, version, writing=True)
    try:
        # A snapshot from before others wrote may be older than what they have seen.
        snapshot = seen.snapshot if seen.known == store.fact("snapshot") else None
        Refreshing(store, asked, now, snapshot).run()
        index = Index(store, asked)  # what it says is of this very state; then others may see it
    except BaseException:
        store.close()
        raise
    return index


# ---- where it is ---------------------------------------------------------------------------------
def _key(asked: IndexRequest) -> str:
    """One for each folder that a command is run in, and paths: what is shown of a file depends on both."""
    whole = "\0".join((os.path.realpath(os.curdir), *asked.paths))
    return digest(whole.encode("utf-8", "surrogateescape"))


def _existing(asked: IndexRequest) -> str:
    names = os.listdir(asked.folder)
    start = f"{_key(asked)}-"
    found = [name for name in names if name.startswith(start) and name.endswith(_ENDING)]
    return os.path.join(asked.folder, max(found)) if found else ""


def _new_file(asked: IndexRequest, now: int) -> str:
    """A new file, for its owner only. No name serves twice: what SQLite puts beside it goes by its name."""
    folder = asked.folder
    others = [os.path.join(folder, name) for name in os.listdir(folder) if name.endswith(_ENDING)]
    for path in sorted(others, key=_mtime)[:-_MOST]:
        _remove(path)
    path = os.path.join(folder, f"{_key(asked)}-{now:020x}-{os.getpid()}{_ENDING}")
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    return path


def _mtime(path: str) -> float:
    try:
        return os.path.getmtime(path)
    except OSError:
        return 0.0


def _remove(path: str) -> None:
    for name in (path, f"{path}-journal"):
        try:
            os.unlink(name)
        except OSError:
            continue


def _version() -> str:
    """What the rows depend on beside the files: this program, its grammar, Python."""
    package = os.path.dirname(os.path.dirname(os.path.dirname(__file__)))
    parts = [sys.version]
    left = [package, os.path.join(os.path.dirname(package), "grammar")]
    while left:
        try:
            with os.scandir(left.pop()) as listing:
                for entry in listing:
                    if entry.name.endswith((".py", ".lark", ".txt")):
                        found = entry.stat()
                        parts.append(f"{entry.path} {found.st_size} {found.st_mtime_ns}")
                    elif "." not in entry.name and entry.name != "__pycache__" and entry.is_dir():
                        left.append(entry.path)
        except FileNotFoundError:
            continue  # an installed package has its grammar inside
    return digest("\n".join(sorted(parts)).encode("utf-8", "surrogateescape"))


def _summary(fields: Sequence[object]) -> Summary:
    """A summary as it was before it was kept as text."""
    from sitelog.judging.judged import Summary

    summary = Summary(*fields)  # type: ignore[arg-type]  # as keep_site had them
    return summary._replace(sheets=tuple(summary.sheets), headlines=tuple(summary.headlines))

"""The index of some paths, opened: brought up to date where the disk has changed, else made anew."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from sitelog.index.disk import content, digest, look, stamp
from sitelog.store.keeping import BusyError, DamagedError, KeptStore

if TYPE_CHECKING:  # where nothing has changed, nothing that judges is loaded
    from sitelog.judged import Summary

WATCHED = ("file", "folder", "repository")
_ENDING = ".index"
_MOST = 12  # of other paths, that stay


class Index:
    """The rows of every site as they stand on a day, and what stands beside an answer."""

    def __init__(self, store: KeptStore) -> None:
        self.store = store
        self.readable = bool(store.fact("readable"))
        self.errors = int(store.fact("errors") or 0)

    @property
    def loud(self) -> list[Summary]:
        """The sites with something that stands above every answer."""
        return [_summary(fields) for fields in self.store.summaries(loud=True)]

    @property
    def sites(self) -> list[Summary]:
        """Every site in figures."""
        return [_summary(fields) for fields in self.store.summaries()]

    def throw_away(self) -> None:
        """Close it, and let the next one be made anew: damage showed."""
        self.store.close()
        _remove(self.store.path)


def open_index(
    paths: Sequence[str], today: date, folder: str, now: int, histories: Iterable[str] = ()
) -> Index | None:
    """The index of paths, kept in a folder; None where there can be none: then read the files themselves.

    `now` is the clock's time in nanoseconds since 1970. With `histories`, the rows of these subjects'
    histories are in it too.
    """
    if not folder or "-" in paths:
        return None
    wanted = sorted(histories)
    try:
        os.makedirs(folder, exist_ok=True)
        version = _version()
        for _ in range(2):
            path = _existing(folder, paths)
            kept, is_settled = (
                _still_right(path, version, paths, today, now, wanted) if path else (None, False)
            )
            if kept is not None and is_settled:
                return kept
            if kept is not None:
                kept.store.close()  # whoever reads keeps others, and itself, from writing
            path = _existing(folder, paths)
            is_new = not path
            path = path or _fresh(folder, paths, now)
            try:
                return _refreshed(path, version, paths, today, now, wanted)
            except DamagedError:
                _remove(path)
            except BaseException as error:
                if is_new:
                    _remove(path)
                if isinstance(error, BusyError) and kept is not None:
                    return _still_right(path, version, paths, today, now, wanted)[0]
                raise
    except (OSError, BusyError):
        return None
    return None


def _still_right(
    path: str, version: str, paths: Sequence[str], today: date, now: int, histories: Sequence[str]
) -> tuple[Index | None, bool]:
    """The index as it is, where nothing has changed, and whether there is nothing to write down either.

    It is only read, so that others may write.
    """
    store: KeptStore | None = None
    try:
        store = KeptStore(path, version, writing=False)
        is_settled = _is_settled(store, paths, today, now, histories)
        if is_settled is not None:
            return Index(store), is_settled
    except BusyError:
        pass
    except DamagedError:
        if store is not None:
            store.close()
        _remove(path)
    if store is not None:
        store.close()
    return None, False


def _is_settled(
    store: KeptStore, paths: Sequence[str], today: date, now: int, histories: Sequence[str]
) -> bool | None:
    """Whether all that was unsure still is; None where something has changed."""
    day = today.isoformat()
    if store.fact("today") != day or not set(histories) <= set(store.fact("histories").split()):
        return None
    things = [(one.kind, one.path) for one in store.files(WATCHED)]
    if look(paths, things).digest != store.fact("picture"):
        return None
    unsure = store.files(unsure=True)
    if any(content(one.kind, one.path) != one.digest for one in unsure):
        return None
    # Where a stamp has come of age, that is worth writing down: the file need not be read again.
    return all(stamp(one.kind, one.path).unsure(now) for one in unsure)


def _refreshed(
    path: str, version: str, paths: Sequence[str], today: date, now: int, histories: Sequence[str]
) -> Index | None:
    from sitelog.index.refreshing import Refreshing

    store = KeptStore(path, version, writing=True)
    try:
        refreshing = Refreshing(store, paths, today, now, histories)
        refreshing.run()
        store.commit()
        store.begin()
        # In between another process may have written, for another day.
        if (store.fact("picture"), store.fact("today")) == (refreshing.picture.digest, today.isoformat()):
            return Index(store)
    except BaseException:
        store.close()
        raise
    store.close()
    return None


# ---- where it is ---------------------------------------------------------------------------------
def _key(paths: Sequence[str]) -> str:
    """One for each folder that a command is run in, and paths: what is shown of a file depends on both."""
    whole = "\0".join((os.path.realpath(os.curdir), *paths))
    return digest(whole.encode("utf-8", "surrogateescape"))


def _existing(folder: str, paths: Sequence[str]) -> str:
    start = f"{_key(paths)}-"
    found = [name for name in os.listdir(folder) if name.startswith(start) and name.endswith(_ENDING)]
    return os.path.join(folder, max(found)) if found else ""


def _fresh(folder: str, paths: Sequence[str], now: int) -> str:
    """A new file, for its owner only. No name serves twice: what SQLite puts beside it goes by its name."""
    others = [os.path.join(folder, name) for name in os.listdir(folder) if name.endswith(_ENDING)]
    for path in sorted(others, key=_age)[:-_MOST]:
        _remove(path)
    path = os.path.join(folder, f"{_key(paths)}-{now:020x}-{os.getpid()}{_ENDING}")
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    return path


def _age(path: str) -> float:
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
    package = Path(__file__).parents[1]
    parts = [sys.version]
    for place in (package, package.parent / "grammar"):
        for folder, folders, names in os.walk(place):
            folders.sort()
            for name in sorted(names):
                if name.endswith((".py", ".lark", ".txt")):
                    found = os.stat(os.path.join(folder, name))
                    parts.append(f"{folder}/{name} {found.st_size} {found.st_mtime_ns}")
    return digest("\n".join(parts).encode("utf-8", "surrogateescape"))


def _summary(fields: Sequence[object]) -> Summary:
    """A summary as it was before it was kept as text."""
    from sitelog.judged import Summary

    one = Summary(*fields)  # type: ignore[arg-type]  # as keep_site had them
    return one._replace(sheets=tuple(one.sheets), headlines=tuple(one.headlines))

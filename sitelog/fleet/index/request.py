"""The request for an index: of which paths, for which day, where it is kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from sitelog.base.frozen import NamedTuple


class IndexRequest(NamedTuple):
    """What an index is wanted for; `clock` gives the time in nanoseconds since 1970."""

    paths: tuple[str, ...]
    today: date
    folder: str
    clock: Callable[[], int]
    histories: tuple[str, ...] = ()
    processors: int = 1

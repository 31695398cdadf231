"""The request for an index: of which paths, for which day, where it is kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from sitelog.base.frozen import NamedTuple


class IndexRequest(NamedTuple):
    """The index of `paths` as on the day `today`, kept in `folder`.

    `clock` gives the time in nanoseconds since 1970. With `histories`, the rows of these subjects' histories
    are in it too. Where much is to be judged, that is done on so many `processors`.
    """

    paths: tuple[str, ...]
    today: date
    folder: str
    clock: Callable[[], int]
    histories: tuple[str, ...] = ()
    processors: int = 1

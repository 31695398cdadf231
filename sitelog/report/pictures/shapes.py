"""What pictures are drawn from: plain numbers and words, with a link into the page for each mark."""

from __future__ import annotations

from typing import NamedTuple


class PlottedValue(NamedTuple):
    """One value beside its limits, all in the unit that the picture names.

    `bound` is `>` or `<` where only that is known of the value; `uncertainty` is the expanded one (k = 2),
    None where unknown; `link` leads to the line in the log, such as `#l-27`, and is empty without one.
    `shown` is the value as tables show it, such as `9.8 Nm`; without it the picture writes the number. A
    value that is missing is `nan`.
    """

    label: str
    value: float
    low: float | None = None
    high: float | None = None
    bound: str = ""
    uncertainty: float | None = None
    verdict: str = ""
    link: str = ""
    shown: str = ""


class Event(NamedTuple):
    """One thing done on a day, or a wait; times in minutes since midnight, None where none was written.

    `end` is where a wait ended and its step was done, `wanted` how many minutes it should last at least.
    `kind` is the word that the log has for it.
    """

    start: float | None
    end: float | None
    label: str
    kind: str = ""
    verdict: str = ""
    link: str = ""
    wanted: float | None = None

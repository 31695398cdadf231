"""What pictures are drawn from: plain numbers and words, with a link into the page for each mark."""

from __future__ import annotations

from typing import NamedTuple


class Point(NamedTuple):
    """One value beside its limits, all in the unit that the picture names.

    `bound` is `>` or `<` where only that is known of the value; `uncertainty` is the expanded one (k = 2),
    None where unknown; `link` leads to the line in the log, such as `#l-27`, and is empty without one.
    """

    label: str
    value: float
    low: float | None = None
    high: float | None = None
    bound: str = ""
    uncertainty: float | None = None
    verdict: str = ""
    link: str = ""

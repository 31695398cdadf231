"""Readings that moved towards their limit since the visit before."""

from __future__ import annotations

from collections.abc import Iterator

from sitelog.base.frozen import NamedTuple
from sitelog.notation.quantities.quantity import Quantity
from sitelog.report.overview.asking import AnsweredRow, Ask

QUESTION = (
    "readings where previous_day < day show site, what, points, at, previous_day, previous, day, value,"
    " low, high, corrected_previous, corrected"
)
MUCH = 0.25
"""Of the distance that was left to the limit; a reading that used up less of it is not listed."""

_WEATHER = frozenset({"temperature", "dead"})  # the first follows the season, the other is proved each time


class Drift(NamedTuple):
    """One reading: how much of the distance to its limit it used up since the visit before."""

    row: AnsweredRow
    before: Quantity
    now: Quantity
    corrected: bool  # both brought to 20 °C
    used: float  # a share; more than 1 is beyond the limit
    at_least: bool  # the earlier one was beyond the end of its scale


def drifting(ask: Ask) -> list[Drift]:
    """The readings that moved most towards their limit first."""
    found = [one for row in ask(QUESTION) for one in _drift(row) if one.used >= MUCH]
    return sorted(found, key=lambda one: -one.used)


def _drift(row: AnsweredRow) -> Iterator[Drift]:
    corrected = row["corrected"] is not None and row["corrected_previous"] is not None
    before = row["corrected_previous"] if corrected else row["previous"]
    now = row["corrected"] if corrected else row["value"]
    if before is None or now is None or before.kind != now.kind or row["what"] in _WEATHER:
        return
    used = [
        share
        for limit, sign in ((row["low"], 1), (row["high"], -1))
        if limit is not None and (share := _used(before, now, limit, sign)) is not None
    ]
    if used:
        yield Drift(row, before, now, corrected, max(used), bool(before.bound))


def _used(before: Quantity, now: Quantity, limit: Quantity, sign: int) -> float | None:
    """The share of the distance to one limit that is gone; `sign` is 1 for a lower limit.

    None where a bound leaves it open: `>999` before says that there was so much distance at least, `>999` now
    that nothing is known to be gone.
    """
    if now.bound or before.bound not in ("", ">" if sign > 0 else "<"):
        return None
    left = sign * (before.base - limit.base)
    gone = sign * (before.base - now.base)
    return float(gone / left) if left > 0 and gone > 0 else None

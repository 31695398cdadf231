"""Cells or modules of one battery beside each other, and the distance that is allowed between them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from math import isfinite

from sitelog.report.pictures.shapes import PlottedValue
from sitelog.report.pictures.strips import drawn_strips
from sitelog.report.pictures.words import number


def spread(points: Sequence[PlottedValue], unit: str, *, name: str, allowed: float | None) -> str:
    """Each value in a row of its own; the allowed distance is shaded where it holds most of them.

    Limits of a point's own are passed over. Below stands how far the values are apart. "" without values.
    """
    known = sorted(point.value for point in points if isfinite(point.value))
    if not known:
        return ""
    low = high = None
    apart = Decimal(repr(known[-1])) - Decimal(repr(known[0]))
    note = f"{number(float(apart))} {unit} apart" if len(known) > 1 else ""
    bad = False
    if allowed is not None:
        low = _fullest(known, allowed)
        high = low + allowed
        bad = apart > Decimal(repr(allowed))
        note = note and f"{'✗' if bad else '✓'} {note}, allowed {number(allowed)} {unit}"
    rows = [point._replace(low=low, high=high) for point in points]
    return drawn_strips(rows, unit, name, note=note, bad=bad)


def _fullest(values: Sequence[float], width: float) -> float:
    """Where a range of this width begins that holds most of the sorted values, in their midst."""
    best, most = values[0], 0
    for first, low in enumerate(values):
        inside = [value for value in values[first:] if value <= low + width]
        if len(inside) > most:
            most = len(inside)
            best = (low + inside[-1] - width) / 2
    return best

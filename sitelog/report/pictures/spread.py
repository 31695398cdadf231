"""Cells or modules of one battery beside each other, and the distance that is allowed between them."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from sitelog.report.pictures.shapes import Point
from sitelog.report.pictures.strips import strips
from sitelog.report.pictures.words import number


def spread(points: Sequence[Point], unit: str, *, name: str, allowed: float | None) -> str:
    """Each value in a row of its own; shaded is how far the others may lie from the lowest.

    A point needs no limits; what it says of them is passed over. "" where there are no points.
    """
    known = [point.value for point in points if isfinite(point.value)]
    if not known:
        return ""
    low = min(known)
    high = low + allowed if allowed is not None else None
    rows = [
        point._replace(
            low=low if allowed is not None else None,
            high=high,
            verdict=point.verdict or _verdict(point.value, high),
        )
        for point in points
    ]
    apart = f"{number(max(known) - low)} {unit} apart"
    asked = f", allowed {number(allowed)} {unit}" if allowed is not None else ""
    return strips(rows, unit, name=f"{name}: {apart}{asked}")


def _verdict(value: float, high: float | None) -> str:
    if not isfinite(value):
        return "missing"
    return "no-limit" if high is None else "pass" if value <= high else "over"

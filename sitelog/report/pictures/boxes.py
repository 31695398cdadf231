"""Distributions side by side: one row for each group, all on one scale."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from sitelog.report.pictures.drawing import Drawing, areas, box, lines, rings, together
from sitelog.report.pictures.lanes import (
    Lane,
    Layout,
    PlacedLane,
    ValueScale,
    draw_axis,
    draw_words,
    lay_out,
    scale_of,
)
from sitelog.report.pictures.legend import legend
from sitelog.report.pictures.words import allowed, many, number, outside

_FEW = 8  # of fewer values each is shown: a box of five would claim more than they say

Group = tuple[str, Sequence[float]]


def boxes(
    groups: Sequence[Group], unit: str, *, name: str, low: float | None = None, high: float | None = None
) -> str:
    """The middle half of each group as a box, its median as a line, the whole of it as a fine line.

    Fewer than eight values are shown each. The range that is allowed is shaded. "" without values.
    """
    known = [(label, sorted(value for value in values if isfinite(value))) for label, values in groups]
    known = [(label, values) for label, values in known if values]
    if not known:
        return ""
    lanes = [_lane(label, values, unit, low, high) for label, values in known]
    layout = lay_out(lanes, unit=unit, heading=_heading(low, high))
    ends = [limit for limit in (low, high) if limit is not None]
    scale = scale_of([value for _, values in known for value in (values[0], values[-1])] + ends)
    about = _about(known, unit, low, high)
    parts = [_part(known, lanes, layout, rows, scale, unit, (low, high)) for rows in layout.parts]
    return together(parts, name, about)


def _heading(low: float | None, high: float | None) -> str:
    return "values" if low is None and high is None else "outside"


def quartiles(values: Sequence[float]) -> tuple[float, float, float]:
    """Lower quartile, median and upper quartile of sorted values, between two of them in proportion."""

    def at(share: float) -> float:
        place = share * (len(values) - 1)
        below = int(place)
        above = min(below + 1, len(values) - 1)
        return values[below] + (values[above] - values[below]) * (place - below)

    return at(0.25), at(0.5), at(0.75)


def _outside(values: Sequence[float], low: float | None, high: float | None) -> int:
    return sum(outside(one, low, high) for one in values)


def _lane(label: str, values: Sequence[float], unit: str, low: float | None, high: float | None) -> Lane:
    beyond = _outside(values, low, high)
    words = f"{len(values)}"
    title = f"{label}: {many(len(values), 'value')} from {number(values[0])} to {number(values[-1])} {unit}"
    title += f", median {number(quartiles(values)[1])} {unit}"
    if low is not None or high is not None:
        title += f", {beyond} outside"
        words = f"✗ {beyond} of {len(values)}" if beyond else f"✓ {len(values)}"
    return Lane(label, words, "bad" if beyond else "ink", bool(beyond), "", title)


def _about(
    groups: Sequence[tuple[str, Sequence[float]]], unit: str, low: float | None, high: float | None
) -> str:
    total = sum(len(values) for _, values in groups)
    parts = [f"{many(total, 'value')} in {many(len(groups), 'group')}."]
    if asked := allowed(low, high, unit):
        beyond = sum(_outside(values, low, high) for _, values in groups)
        parts.append(f"{beyond} outside of what is allowed ({asked}).")
    return " ".join(parts)


def _part(
    groups: Sequence[tuple[str, Sequence[float]]],
    lanes: Sequence[Lane],
    layout: Layout,
    rows: Sequence[PlacedLane],
    scale: ValueScale,
    unit: str,
    limits: tuple[float | None, float | None],
) -> Drawing:
    top, bottom = rows[0].top, rows[-1].bottom
    low, high = limits
    boxed = any(len(groups[row.at][1]) >= _FEW for row in rows)
    signs = legend([], ["median"] * boxed + ["allowed"] * (low is not None or high is not None))
    drawing = Drawing(bottom + signs.height)
    plot = draw_axis(drawing, layout, scale, unit, bottom, _heading(low, high))
    if low is not None or high is not None:
        left, right = scale.low if low is None else low, scale.high if high is None else high
        areas(plot, [box(left, right, top, bottom)], "band", gid="part allowed")
        ends = [limit for limit in limits if limit is not None]
        lines(plot, [[(end, top), (end, bottom)] for end in ends], "quiet", 1.8, gid="part limits")
    middles, halves, medians, dots = [], [], [], []
    for row in rows:
        draw_words(drawing, lanes, row)
        values, middle = groups[row.at][1], row.middle
        if len(values) < _FEW:
            dots += [(value, middle) for value in values]
            continue
        first, median, third = quartiles(values)
        middles.append([(values[0], middle), (values[-1], middle)])
        halves.append(box(first, third, middle - 6, middle + 6))
        medians.append([(median, middle - 6), (median, middle + 6)])
    lines(plot, middles, "ink", 1.4, gid="part ranges")
    areas(plot, halves, "sheet", edge="ink", gid="part halves", order=4)
    lines(plot, medians, "ink", 3, gid="part medians", order=5)
    if dots:
        rings(plot, dots, "part values")
    signs.draw(drawing, bottom)
    return drawing

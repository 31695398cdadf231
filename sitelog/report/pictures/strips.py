"""Values against their limits: one row for each, all on one scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite
from typing import NamedTuple

from sitelog.report.pictures.drawing import Drawing, areas, box, lines, marks
from sitelog.report.pictures.lanes import (
    Lane,
    Layout,
    Placed,
    Scale,
    draw_axis,
    draw_words,
    lay_out,
    scale_of,
)
from sitelog.report.pictures.legend import legend
from sitelog.report.pictures.shapes import Point
from sitelog.report.pictures.style import SIGNS, class_of
from sitelog.report.pictures.words import allowed, counted, engineering, number

_ARROW = 16.0  # length of the arrow of a bound


def strips(points: Sequence[Point], unit: str, *, name: str, log: bool = False) -> str:
    """Each value as a mark in a row of its own, its allowed range shaded, its uncertainty as a bar.

    Many rows make several pictures one below the other, on the same scale, so that a printed page can hold
    each. `name` says what is shown, as `torque of the bracket joints`; "" where there are no points.
    """
    if not points:
        return ""
    lanes = [_lane(point, unit) for point in points]
    layout = lay_out(lanes)
    scale = scale_of(_reach(points), log)
    about = _about(points, unit)
    many = len(layout.parts)
    return "\n".join(
        _part(points, lanes, layout, rows, scale, unit).svg(
            name if many == 1 else f"{name} ({nth} of {many})", about
        )
        for nth, rows in enumerate(layout.parts, 1)
    )


def _lane(point: Point, unit: str) -> Lane:
    kind = class_of(point.verdict)
    known = isfinite(point.value)
    value = point.shown or (f"{point.bound}{number(point.value)}" if known else "")
    parts = [point.shown or f"{point.bound}{number(point.value)} {unit}" if known else ""]
    if point.uncertainty:
        parts.append(f"± {number(point.uncertainty)} {unit}")
    parts += [point.verdict, allowed(point.low, point.high, unit)]
    words = f"{SIGNS[kind]} {value or point.verdict}"
    title = f"{point.label}: {', '.join(filter(None, parts))}"
    colour = "open" if kind == "missing" else "ink" if kind == "good" else kind
    return Lane(point.label, words, colour, kind != "good" and kind != "quiet", point.link, title)


def _reach(points: Sequence[Point]) -> Iterator[float]:
    """Every value that the scale must show."""
    for point in points:
        off = point.uncertainty or 0.0
        yield from (point.value - off, point.value, point.value + off)
        yield from (limit for limit in (point.low, point.high) if limit is not None)


def _about(points: Sequence[Point], unit: str) -> str:
    known = [point for point in points if isfinite(point.value)]
    parts = [f"{len(points)} values: {counted([point.verdict or 'no limit' for point in points])}."]
    if known:
        least, most = min(known, key=lambda one: one.value), max(known, key=lambda one: one.value)
        parts.append(
            f"Lowest {least.label} {least.shown or engineering(least.value, unit)}, "
            f"highest {most.label} {most.shown or engineering(most.value, unit)}."
        )
    if ranges := {allowed(point.low, point.high, unit) for point in points} - {""}:
        parts.append(f"Allowed: {ranges.pop()}." if len(ranges) == 1 else "Each has limits of its own.")
    return " ".join(parts)


class _Shapes(NamedTuple):
    """What is drawn in the rows of one part, in the plot's own measures."""

    ranges: list[list[tuple[float, float]]]
    limits: list[list[tuple[float, float]]]
    bars: list[list[tuple[float, float]]]
    arrows: list[list[tuple[float, float]]]
    marks: dict[str, tuple[list[float], list[float]]]


def _part(
    points: Sequence[Point],
    lanes: Sequence[Lane],
    layout: Layout,
    rows: Sequence[Placed],
    scale: Scale,
    unit: str,
) -> Drawing:
    bottom = rows[-1].bottom
    signs = legend([point.verdict for point in points], _extras(points))
    drawing = Drawing(bottom + signs.height)
    draw_axis(drawing, layout, scale, unit, bottom)
    axes = drawing.axes(
        layout.left,
        0,
        layout.width,
        drawing.height,
        (scale.low, scale.high),
        (drawing.height, 0),
        "x" if scale.log else "",
    )
    shapes = _Shapes([], [], [], [], {})
    for row in rows:
        _row(shapes, points[row.at], row, scale, layout.width)
        draw_words(drawing, lanes, row)
    areas(axes, shapes.ranges, "band", gid="part allowed")
    lines(axes, shapes.limits, "quiet", 1.8, gid="part limits")
    lines(axes, shapes.bars, "ink", 1.6, gid="part uncertainty")
    lines(axes, shapes.arrows, "ink", 1.6, gid="part bounds")
    for kind, (x, y) in shapes.marks.items():
        marks(axes, kind, x, y)
    signs.draw(drawing, bottom)
    return drawing


def _extras(points: Sequence[Point]) -> list[str]:
    found = []
    if any(point.low is not None or point.high is not None for point in points):
        found.append("allowed")
    if any(point.uncertainty for point in points):
        found.append("uncertainty")
    if any(point.bound for point in points):
        found.append("bound")
    return found


def _row(shapes: _Shapes, point: Point, row: Placed, scale: Scale, width: float) -> None:
    top, bottom, middle = row.top, row.bottom, row.middle
    if point.low is not None or point.high is not None:
        low = scale.low if point.low is None else point.low
        high = scale.high if point.high is None else point.high
        shapes.ranges.append(box(scale.inside(low), scale.inside(high), top, bottom))
    shapes.limits.extend(
        [(limit, top + 1), (limit, bottom - 1)]
        for limit in (point.low, point.high)
        if limit is not None and scale.low <= limit <= scale.high
    )
    if not isfinite(point.value):
        return
    at = scale.inside(point.value)
    if point.uncertainty:
        ends = [scale.inside(point.value - point.uncertainty), scale.inside(point.value + point.uncertainty)]
        shapes.bars.append([(ends[0], middle), (ends[1], middle)])
        shapes.bars.extend([(end, middle - 4), (end, middle + 4)] for end in ends)
    bound = point.bound or ("<" if at > point.value else "")
    if bound in (">", "<"):
        shapes.arrows.extend(_arrow(at, bound, middle, scale, width))
    x, y = shapes.marks.setdefault(class_of(point.verdict), ([], []))
    x.append(at)
    y.append(middle)


def _arrow(
    at: float, bound: str, middle: float, scale: Scale, width: float
) -> list[list[tuple[float, float]]]:
    """An arrow away from a mark, of a fixed length on the ground whatever the scale."""

    def moved(units: float) -> float:
        units = units if bound == ">" else -units
        if scale.log:
            return float(at * (scale.high / scale.low) ** (units / width))
        return at + (scale.high - scale.low) * units / width

    tip, back = moved(_ARROW), moved(_ARROW - 5)
    return [[(at, middle), (tip, middle)], [(back, middle - 4), (tip, middle), (back, middle + 4)]]

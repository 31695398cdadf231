"""Values against their limits: one row for each, all on one scale."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import isfinite
from typing import NamedTuple

from sitelog.report.pictures.drawing import Drawing, areas, arrows, box, lines, marks, together
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
from sitelog.report.pictures.shapes import PlottedValue
from sitelog.report.pictures.style import LINE, SIGNS, class_of, colour_of
from sitelog.report.pictures.words import allowed, counted, engineering, many, number

_ARROW = 16.0  # length of the arrow of a bound


def strips(points: Sequence[PlottedValue], unit: str, *, name: str, log: bool = False) -> str:
    """Each value as a mark in a row of its own, its allowed range shaded, its uncertainty as a bar.

    Many rows make several pictures one below the other, on the same scale, so that a printed page can hold
    each. `name` says what is shown, as `torque of the bracket joints`; "" where there are no points.
    """
    return drawn_strips(points, unit, name, log)


def drawn_strips(
    points: Sequence[PlottedValue], unit: str, name: str, log: bool = False, note: str = "", bad: bool = False
) -> str:
    """`strips` with a note below: what the values say together, and whether that is failing."""
    if not points:
        return ""
    lanes = [_lane(point, unit, log) for point in points]
    layout = lay_out(lanes, unit=unit)
    scale = scale_of(_reach(points), log)
    about = f"{_about(points, unit)} {note}{'.' * bool(note)}".rstrip()
    parts = [_part(points, lanes, layout, rows, scale, unit, (note, bad)) for rows in layout.parts]
    return together(parts, name, about)


def _lane(point: PlottedValue, unit: str, log: bool) -> Lane:
    kind = class_of(point.verdict)
    known = isfinite(point.value)
    value = point.shown
    if known and not value:  # the unit stands above the rows where the scale is linear
        value = f"{point.bound}{engineering(point.value, unit) if log else number(point.value)}"
    parts = [point.shown or f"{point.bound}{number(point.value)} {unit}" if known else ""]
    if point.uncertainty:
        parts.append(f"± {number(point.uncertainty)} {unit}")
    parts += [point.verdict, allowed(point.low, point.high, unit)]
    words = f"{SIGNS[kind]} {value or point.verdict}".strip()
    title = f"{point.label}: {', '.join(filter(None, parts))}"
    colour = "ink" if kind == "good" else colour_of(kind)
    return Lane(point.label, words, colour, kind in ("bad", "open", "missing"), point.link, title)


def _reach(points: Sequence[PlottedValue]) -> Iterator[float]:
    """Every value that the scale must show."""
    for point in points:
        off = point.uncertainty or 0.0
        yield from (point.value - off, point.value, point.value + off)
        yield from (limit for limit in (point.low, point.high) if limit is not None)


def _about(points: Sequence[PlottedValue], unit: str) -> str:
    known = [point for point in points if isfinite(point.value)]
    verdicts = counted([point.verdict for point in points if point.verdict])
    parts = [f"{many(len(points), 'value')}{': ' if verdicts else ''}{verdicts}."]
    if known:
        least, most = min(known, key=lambda one: one.value), max(known, key=lambda one: one.value)
        parts.append(
            f"Lowest {least.label} {least.shown or engineering(least.value, unit)}, "
            f"highest {most.label} {most.shown or engineering(most.value, unit)}."
        )
    if ranges := {allowed(point.low, point.high, unit) for point in points} - {""}:
        parts.append(f"Allowed: {ranges.pop()}." if len(ranges) == 1 else "Each has limits of its own.")
    return " ".join(parts)


class _StripShapes(NamedTuple):
    """What is drawn at the values of one part: bars, bounds, marks by class, in the measures of the plot."""

    bars: list[list[tuple[float, float]]]
    bounds: list[tuple[float, float, str]]
    marks: dict[str, tuple[list[float], list[float]]]


def _part(
    points: Sequence[PlottedValue],
    lanes: Sequence[Lane],
    layout: Layout,
    rows: Sequence[PlacedLane],
    scale: ValueScale,
    unit: str,
    note: tuple[str, bool],
) -> Drawing:
    bottom = rows[-1].bottom
    signs = legend([point.verdict for point in points], _extras(points))
    below = bottom + (LINE + 8 if note[0] else 0)
    drawing = Drawing(below + signs.height)
    plot = draw_axis(drawing, layout, scale, unit, bottom)
    shapes = _StripShapes([], [], {})
    for row in rows:
        _row(shapes, points[row.at], row, scale)
        draw_words(drawing, lanes, row)
    ranges = _ranges([(points[row.at], row) for row in rows], scale)
    areas(plot, [box(*one) for one in ranges], "band", gid="part allowed")
    lines(plot, _limits(ranges, scale), "quiet", 1.8, gid="part limits")
    lines(plot, shapes.bars, "ink", 1.6, gid="part uncertainty")
    for bound, way in ((">", _ARROW), ("<", -_ARROW)):
        tails = [plot.place(at, middle) for at, middle, own in shapes.bounds if own == bound]
        arrows(drawing, tails, way, 0)
    for kind, (x, y) in shapes.marks.items():
        marks(plot, kind, x, y)
    if note[0]:
        drawing.text(0, below - 5, note[0], colour="bad" if note[1] else "ink", bold=True)
    signs.draw(drawing, below)
    return drawing


def _extras(points: Sequence[PlottedValue]) -> list[str]:
    found = []
    if any(point.low is not None or point.high is not None for point in points):
        found.append("allowed")
    if any(point.uncertainty for point in points):
        found.append("uncertainty")
    if any(point.bound for point in points):
        found.append("bound")
    return found


Range = tuple[float, float, float, float]


def _ranges(rows: Iterable[tuple[PlottedValue, PlacedLane]], scale: ValueScale) -> list[Range]:
    """What is allowed as left, right, top and bottom; rows below each other share one where they can."""
    found: list[Range] = []
    for point, row in rows:
        if point.low is None and point.high is None:
            continue
        left = scale.low if point.low is None else scale.inside(point.low)
        right = scale.high if point.high is None else scale.inside(point.high)
        if found and found[-1][:2] == (left, right) and found[-1][3] == row.top:
            found[-1] = (left, right, found[-1][2], row.bottom)
        else:
            found.append((left, right, row.top, row.bottom))
    return found


def _limits(ranges: Iterable[Range], scale: ValueScale) -> list[list[tuple[float, float]]]:
    """The ends of what is allowed; where it has no end, the plot's edge is none."""
    return [
        [(end, top), (end, bottom)]
        for left, right, top, bottom in ranges
        for end in (left, right)
        if scale.low < end < scale.high
    ]


def _row(shapes: _StripShapes, point: PlottedValue, row: PlacedLane, scale: ValueScale) -> None:
    if not isfinite(point.value):
        return
    middle, at = row.middle, scale.inside(point.value)
    if point.uncertainty:
        ends = [scale.inside(point.value - point.uncertainty), scale.inside(point.value + point.uncertainty)]
        shapes.bars.append([(ends[0], middle), (ends[1], middle)])
        shapes.bars.extend([(end, middle - 4), (end, middle + 4)] for end in ends)
    bound = point.bound or ("<" if at > point.value else "")
    if bound:
        shapes.bounds.append((at, middle, bound))
    x, y = shapes.marks.setdefault(class_of(point.verdict), ([], []))
    x.append(at)
    y.append(middle)

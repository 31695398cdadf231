"""A trial over time: power, energy, state of charge, voltage and temperature above one axis."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from sitelog.files.trials.curve import Channel, Curve
from sitelog.report.pictures.drawing import Drawing, areas, lines
from sitelog.report.pictures.lanes import ValueScale, scale_of, ticks_of
from sitelog.report.pictures.style import LINE, TEXT, WIDTH
from sitelog.report.pictures.words import engineering, many, number, width_of

_LEFT = 58.0  # room for the numbers of a scale
_PLOT = 72.0
_HEAD = LINE + 8
_PANEL = _HEAD + _PLOT + 16
_FOOT = LINE * 2 + 6
_DASHES: tuple[tuple[float, ...], ...] = ((), (4, 3), (1, 2))
_KINDS = {"power": "+ charges, − discharges", "current": "+ charges, − discharges"}

Stretch = list[tuple[float, float]]


class _Panel(NamedTuple):
    name: str
    unit: str
    courses: Sequence[Channel]


def trial(curve: Curve, *, name: str) -> str:
    """Each quantity in a plot of its own, one below the other; gaps of the record stay open.

    "" where the file has nothing to draw.
    """
    panels = list(_panels(curve))
    if not panels or len(curve.seconds) < 2:
        return ""
    drawing = Drawing(len(panels) * _PANEL + _FOOT)
    hours = [seconds / 3600 for seconds in curve.seconds]
    last = hours[-1] or 1.0
    said = [_draw(drawing, panel, nth * _PANEL, hours, curve.breaks) for nth, panel in enumerate(panels)]
    _times(drawing, last, len(panels) * _PANEL)
    gaps = f"{many(len(curve.breaks), 'gap') if curve.breaks else 'no gap'} in the record"
    return drawing.svg(name, f"{'; '.join(said)}; {many(curve.rows, 'row')}, {gaps}.")


def _panels(curve: Curve) -> Iterator[_Panel]:
    groups: dict[str, list[Channel]] = {}
    for course in curve.channels:
        groups.setdefault(course.group, []).append(course)
    for name, courses in groups.items():
        values = [abs(value) for one in courses for value in one.values if value is not None]
        unit = courses[0].unit
        if unit in ("W", "Wh") and max(values) >= 1000:
            courses = [
                one._replace(values=tuple(None if v is None else v / 1000 for v in one.values))
                for one in courses
            ]
            unit = f"k{unit}"
        yield _Panel(name, unit, courses)


def stretches(hours: Sequence[float], values: Sequence[float | None], breaks: Sequence[int]) -> list[Stretch]:
    """A course cut where the record is broken; a value that is missing between others is passed over."""
    ends = set(breaks)
    found: list[Stretch] = [[]]
    for at, (hour, value) in enumerate(zip(hours, values, strict=True)):
        if at in ends:
            found.append([])
        if value is not None:
            found[-1].append((hour, value))
    return [one for one in found if one]


def _draw(drawing: Drawing, panel: _Panel, top: float, hours: Sequence[float], breaks: Sequence[int]) -> str:
    known = [value for one in panel.courses for value in one.values if value is not None]
    from_nought = panel.name in ("power", "current", "energy", "charge")
    scale = scale_of([*known, 0.0] if from_nought else known)
    above = top + _HEAD
    plot = drawing.plot(
        _LEFT, above, WIDTH - _LEFT - 4, _PLOT, (0, hours[-1] or 1.0), (scale.low, scale.high)
    )
    _scale(drawing, scale, above)
    for course, dashes in zip(panel.courses, _DASHES, strict=False):
        drawn = stretches(hours, course.values, breaks)
        if panel.name in ("power", "current"):
            filled = [[(one[0][0], 0.0), *one, (one[-1][0], 0.0)] for one in drawn]
            areas(plot, filled, "band", gid="part filled")
        lines(plot, drawn, "ink", 1.8, gid=f"part {course.name or 'course'}", dashes=dashes)
    if from_nought:
        lines(plot, [[(0, 0), (hours[-1], 0)]], "quiet", 1, order=2)
    drawing.text(0, top + TEXT + 2, f"{panel.name}, {panel.unit}", bold=True)
    _key(drawing, panel, top)
    parts = [
        f"{panel.name} {one.name}".strip()
        + f" from {number(min(v for v in one.values if v is not None))}"
        + f" to {engineering(max(v for v in one.values if v is not None), panel.unit)}"
        for one in panel.courses
    ]
    return ", ".join(parts)


def _key(drawing: Drawing, panel: _Panel, top: float) -> None:
    """Which line is which, or which sign charges."""
    if len(panel.courses) < 2:
        words = panel.courses[0].name or _KINDS.get(panel.name, "")
        drawing.text(WIDTH, top + TEXT + 2, words, colour="quiet", anchor="end")
        return
    plot = drawing.ground()
    right = WIDTH
    for course, dashes in reversed(list(zip(panel.courses, _DASHES, strict=False))):
        drawing.text(right, top + TEXT + 2, course.name, colour="quiet", anchor="end")
        right -= width_of(course.name) + 6
        lines(plot, [[(right - 26, top + TEXT - 3), (right, top + TEXT - 3)]], "ink", 1.8, dashes=dashes)
        right -= 40


def _scale(drawing: Drawing, scale: ValueScale, above: float) -> None:
    plot = drawing.plot(0, above, WIDTH, _PLOT, (0, WIDTH), (scale.low, scale.high))
    for value, words in ticks_of(scale, 3 * 60, ""):
        _, foot = plot.place(0, value)
        lines(plot, [[(_LEFT, value), (WIDTH - 4, value)]], "rule", 0.8, order=0.5)
        drawing.text(_LEFT - 6, foot + 5, words, colour="quiet", anchor="end")


_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880)  # minutes


def _times(drawing: Drawing, last: float, top: float) -> None:
    """The axis of time: hours and minutes from the first row."""
    plot = drawing.plot(_LEFT, top - 12, WIDTH - _LEFT - 4, 8, (0, last), (0, 1))
    minutes = last * 60
    step = next((one for one in _STEPS if minutes / one <= 5), minutes / 4)
    at = 0.0
    while at <= minutes * (1 + 1e-9):
        across, _ = plot.place(at / 60, 0)
        lines(plot, [[(at / 60, 0), (at / 60, 1)]], "quiet", 1.2)
        words = f"{int(at) // 60}:{int(at) % 60:02}"
        half = width_of(words) / 2
        drawing.text(min(across, WIDTH - half), top + LINE - 6, words, colour="quiet", anchor="middle")
        at += step
    drawing.text(
        WIDTH, top + 2 * LINE - 4, "hours and minutes from the first row", colour="quiet", anchor="end"
    )

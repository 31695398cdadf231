"""Values over visits: a small plot for each place, all on one scale and one run of days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import isfinite
from typing import TYPE_CHECKING

from sitelog.report.pictures.drawing import Drawing, areas, arrows, box, marks, together
from sitelog.report.pictures.drawing import lines as draw_lines
from sitelog.report.pictures.lanes import ValueScale, scale_of
from sitelog.report.pictures.style import LINE, TALLEST, TEXT, WIDTH
from sitelog.report.pictures.words import (
    allowed,
    engineering,
    many,
    number,
    outside,
    plain,
    shortened,
    width_of,
)

if TYPE_CHECKING:
    from sitelog.report.pictures.plots import Plot

_PLOT = 44.0  # height of one plot
_ABOVE = LINE + 14  # room for the words, and for an arrow of a bound
_ROW = _ABOVE + _PLOT + 8
_SIDE = 10.0  # room at both ends for half a mark
_FOOT = 24.0
_ARROW = 13.0
_MANY = 12  # of more days none has a line

Value = tuple[date, float, str]
Place = tuple[str, Sequence[Value]]


def trend(
    lines: Sequence[Place],
    unit: str,
    *,
    name: str,
    low: float | None = None,
    high: float | None = None,
    log: bool = False,
) -> str:
    """For each place its values `(day, value, bound)` in order, joined, with the limits as lines.

    "" where no place has a value.
    """
    places = [
        (label, sorted(one for one in values if isfinite(one[1]) and (one[1] > 0 or not log)))
        for label, values in lines
    ]
    places = [(label, values) for label, values in places if values]
    if not places:
        return ""
    ends = [limit for limit in (low, high) if limit is not None]
    scale = scale_of([value for _, values in places for _, value, _ in values] + ends, log)
    days = sorted({day.toordinal() for _, values in places for day, _, _ in values})
    fit = max(1, int((TALLEST - _FOOT - LINE - 8) / _ROW))
    parts = [places[at : at + fit] for at in range(0, len(places), fit)]
    about = _about(places, unit, low, high)
    return together([_part(part, unit, scale, days, (low, high)) for part in parts], name, about)


def _shown(value: Value, unit: str) -> str:
    return f"{value[2]}{engineering(value[1], unit)}"


def _about(places: Sequence[Place], unit: str, low: float | None, high: float | None) -> str:
    falls = sum(values[-1][1] < values[0][1] for _, values in places)
    days = [day for _, values in places for day, _, _ in values]
    parts = [
        f"{many(len(places), 'place')} from {min(days).isoformat()} to {max(days).isoformat()}; "
        f"at {falls} the last value is below the first."
    ]
    if asked := allowed(low, high, unit):
        parts.append(f"Allowed: {asked}.")
    return " ".join(parts)


def _part(
    places: Sequence[Place],
    unit: str,
    scale: ValueScale,
    days: Sequence[int],
    limits: tuple[float | None, float | None],
) -> Drawing:
    asked = allowed(*limits, unit)
    head = LINE + 8 if asked else 0.0
    drawing = Drawing(head + len(places) * _ROW + _FOOT)
    if asked:
        drawing.text(0, TEXT, f"shaded: {asked}", colour="quiet")
    first, last = days[0], days[-1]
    if first == last:
        first, last = first - 1, last + 1
    for nth, (label, values) in enumerate(places):
        top = head + nth * _ROW
        plot = drawing.plot(
            _SIDE,
            top + _ABOVE,
            WIDTH - 2 * _SIDE,
            _PLOT,
            (first, last),
            (scale.low, scale.high),
            "y" if scale.log else "",
        )
        _ground(plot, scale, (first, last), limits)
        if len(days) <= _MANY:
            draw_lines(plot, [[(day, scale.low), (day, scale.high)] for day in days], "rule", 1, order=2)
        for bound, up in ((">", -_ARROW), ("<", _ARROW)):
            tails = [(day.toordinal(), value) for day, value, own in values if own == bound]
            arrows(drawing, [plot.place(*one) for one in tails], 0, up)
        _values(plot, values, limits)
        words = " → ".join(dict.fromkeys([_shown(values[0], unit), _shown(values[-1], unit)]))
        over = drawing.row(top, _ROW, "", f"{label}: " + ", ".join(_said(value, unit) for value in values))
        drawing.text(0, top + TEXT, shortened(plain(label), WIDTH - width_of(words) - 12), into=over)
        drawing.text(WIDTH, top + TEXT, words, anchor="end", into=over)
    foot = drawing.height - 6
    drawing.text(0, foot, date.fromordinal(days[0]).isoformat(), colour="quiet")
    if days[0] != days[-1]:
        drawing.text(WIDTH, foot, date.fromordinal(days[-1]).isoformat(), colour="quiet", anchor="end")
    return drawing


def _said(value: Value, unit: str) -> str:
    return f"{value[0].isoformat()} {value[2]}{number(value[1])} {unit}"


def _ground(
    plot: Plot, scale: ValueScale, days: tuple[int, int], limits: tuple[float | None, float | None]
) -> None:
    low, high = limits
    if low is None and high is None:
        areas(plot, [box(*days, scale.low, scale.high)], "band")
        return
    foot = scale.low if low is None else scale.inside(low)
    top = scale.high if high is None else scale.inside(high)
    areas(plot, [box(*days, foot, top)], "band", gid="part allowed")
    ends = [limit for limit in limits if limit is not None and scale.low < limit < scale.high]
    draw_lines(plot, [[(days[0], end), (days[1], end)] for end in ends], "quiet", 1.8, gid="part limits")


def _values(plot: Plot, values: Sequence[Value], limits: tuple[float | None, float | None]) -> None:
    low, high = limits
    joined = [(day.toordinal(), value) for day, value, _ in values]
    draw_lines(plot, [joined], "ink", 1.6, gid="part course")
    kinds: dict[str, tuple[list[float], list[float]]] = {}
    for day, value, _ in values:
        bad = outside(value, low, high)
        asked = low is not None or high is not None
        x, y = kinds.setdefault("bad" if bad else "good" if asked else "plain", ([], []))
        x.append(day.toordinal())
        y.append(value)
    for kind, (x, y) in kinds.items():
        marks(plot, kind, x, y)

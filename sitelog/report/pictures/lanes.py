"""Rows of a picture: a label on the left, room for a plot with one scale, a value on the right."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite, log10
from typing import TYPE_CHECKING, NamedTuple

from sitelog.report.pictures.drawing import Drawing, baseline, lines
from sitelog.report.pictures.style import LINE, TALLEST, TEXT, WIDTH
from sitelog.report.pictures.words import decades, engineering, lines_of, number, plain, shortened, width_of

if TYPE_CHECKING:
    from sitelog.report.pictures.plots import Plot

GAP = 10.0  # between label, plot and value
_PAD = 8.0  # above and below the words of a row
_LABEL, _VALUE, _PLOT = 150.0, 130.0, 160.0  # the widest label and value, the narrowest plot
HEAD = 30.0  # room for the axis above the rows


class Lane(NamedTuple):
    """The words of one row."""

    label: str
    value: str = ""
    colour: str = "ink"
    bold: bool = False
    link: str = ""
    title: str = ""


class PlacedLane(NamedTuple):
    """A row where it stands, with its number among all rows."""

    at: int
    top: float
    height: float
    label: Sequence[str]

    @property
    def middle(self) -> float:
        """Where its mark stands."""
        return self.top + self.height / 2

    @property
    def bottom(self) -> float:
        """Where the next one begins."""
        return self.top + self.height


class Layout(NamedTuple):
    """Columns that all rows share, and the rows in parts of which none is too tall for a printed page."""

    left: float
    width: float
    value: float
    parts: Sequence[Sequence[PlacedLane]]


class ValueScale(NamedTuple):
    """The scale that all rows share, in the unit of the values."""

    low: float
    high: float
    log: bool = False

    def inside(self, value: float) -> float:
        """The value, or the end of the scale that it lies beyond."""
        return min(max(value, self.low), self.high)


def lay_out(lanes: Sequence[Lane], head: float = HEAD, unit: str = "", heading: str = "") -> Layout:
    """Share the width out and break long labels; `unit` and `heading` will stand above labels and values."""
    value = min(max(width_of(word) for word in (heading, *(lane.value for lane in lanes))), _VALUE)
    label = max(width_of(word) for word in (unit, *(plain(lane.label) for lane in lanes)))
    label = min(label, _LABEL, WIDTH - value - _PLOT - 2 * GAP)
    parts: list[list[PlacedLane]] = [[]]
    top = head
    for at, lane in enumerate(lanes):
        words = lines_of(plain(lane.label), label, 3)
        height = LINE * len(words) + _PAD
        if top + height > TALLEST and parts[-1]:
            parts.append([])
            top = head
        parts[-1].append(PlacedLane(at, top, height, words))
        top += height
    left = label + GAP
    return Layout(left, WIDTH - left - value - GAP if value else WIDTH - left - GAP, value, parts)


def scale_of(values: Iterable[float], log: bool = False) -> ValueScale:
    """A scale on which all values have room; whole decades where it is logarithmic."""
    known = [value for value in values if isfinite(value)]
    if log:
        positive = [value for value in known if value > 0] or [1.0]
        low, high = log10(min(positive)), log10(max(positive))
        room = max((high - low) * 0.08, 0.15)
        return ValueScale(10 ** (low - room), 10 ** (high + room), True)
    low, high = min(known, default=0.0), max(known, default=1.0)
    room = (high - low) * 0.08 or abs(high) * 0.1 or 1.0
    return ValueScale(low - room, high + room)


def ticks_of(scale: ValueScale, width: float, unit: str) -> list[tuple[float, str]]:
    """Where an axis has its ticks, and their words, as many as have room."""
    if scale.log:
        room = max(2, int(width / (width_of("100 MΩ") + GAP)))
        return [(value, engineering(value, unit)) for value in decades(scale.low, scale.high, room)]
    from matplotlib.ticker import MaxNLocator

    widest = max(width_of(number(end)) for end in (scale.low * 0.9, scale.high))
    for many in range(max(2, min(6, int(width / 40))), 0, -1):
        found = MaxNLocator(many, steps=[1, 2, 2.5, 5, 10]).tick_values(scale.low, scale.high)
        inside = [float(value) for value in found if scale.low <= value <= scale.high]
        words = [number(round(value, 12)) for value in inside]
        widest = max(map(width_of, words), default=0.0)
        if len(inside) < 2 or width / (len(inside)) > widest + GAP / 2:
            return list(zip(inside, words, strict=True))
    return []


def draw_words(drawing: Drawing, lanes: Sequence[Lane], placed: PlacedLane) -> None:
    """Label and value of one row, with its link."""
    lane = lanes[placed.at]
    over = drawing.row(placed.top, placed.height, lane.link, lane.title or lane.label)
    for nth, words in enumerate(placed.label):
        foot = baseline(placed.top, placed.height, len(placed.label)) + nth * LINE
        drawing.text(0, foot, words, into=over)
    if lane.value:
        foot = baseline(placed.top, placed.height)
        words = shortened(plain(lane.value), _VALUE)
        drawing.text(WIDTH, foot, words, colour=lane.colour, anchor="end", bold=lane.bold, into=over)


def draw_axis(
    drawing: Drawing, layout: Layout, scale: ValueScale, unit: str, bottom: float, heading: str = ""
) -> Plot:
    """The plot beside the rows, with the words of its scale above and a fine line down from each.

    `heading` stands above the values.
    """
    plot = drawing.plot(
        layout.left,
        0,
        layout.width,
        drawing.height,
        (scale.low, scale.high),
        (drawing.height, 0),
        "x" if scale.log else "",
    )
    ticks = ticks_of(scale, layout.width, unit)
    fine = decades(scale.low, scale.high, 99) if scale.log else [value for value, _ in ticks]
    lines(
        plot, [[(value, HEAD - 6), (value, bottom)] for value in fine], "rule", 1, gid="part scale", order=2
    )
    for value, words in ticks:
        across, _ = plot.place(value, 0)
        half = width_of(words) / 2
        least = half + (width_of(unit) + GAP / 2 if unit and not scale.log else 0)
        most = WIDTH - half - (width_of(heading) + GAP if heading else 0)
        drawing.text(min(max(across, least), most), TEXT, words, colour="quiet", anchor="middle")
    if not scale.log and unit:
        drawing.text(0, TEXT, unit, colour="quiet")
    if heading:
        drawing.text(WIDTH, TEXT, heading, colour="quiet", anchor="end")
    return plot

"""One picture in the making: plots placed by hand, shapes in them, words and links laid over → SVG.

SVG is XML of ten elements here, so that the standard library's ElementTree writes it: it escapes every word
and every attribute, which the small SVG libraries leave to the caller. Words are laid over the shapes, in
the page's own font, since their size is only known where the page is read.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, tostring
from zlib import crc32

from sitelog.report.pictures.plots import Plot, Shapes
from sitelog.report.pictures.style import FONTS, HOLLOW, LINE, MARKERS, PALETTE, TEXT, WIDTH, colour_of
from sitelog.report.pictures.words import plain

if TYPE_CHECKING:
    from collections.abc import Sequence

_VARIABLES = {name: f"var(--{name}, {colour})" for name, colour in PALETTE.items()}
_MARK = "\x02"  # stands in front of every id until the picture is whole; no word can hold it

# The outlines of the marks, about their middle, in parts of their size; a circle has none.
_OUTLINES = {
    "triangle": ((0, -0.5), (-0.5, 0.5), (0.5, 0.5)),
    "diamond": ((0, -0.5**0.5), (0.5**0.5, 0), (0, 0.5**0.5), (-(0.5**0.5), 0)),
    "cross": tuple(
        (x / 4, y / 4)
        for x, y in (
            (-1, -2), (0, -1), (1, -2), (2, -1), (1, 0), (2, 1),
            (1, 2), (0, 1), (-1, 2), (-2, 1), (-1, 0), (-2, -1),
        )
    ),
}  # fmt: skip


class Drawing:
    """A ground of the common width; measures count from its top left corner, in units of the picture."""

    def __init__(self, height: float) -> None:
        self.height = height
        self._plots: list[Plot] = []
        self._ground: Plot | None = None
        self._over: list[Element] = []

    def plot(
        self,
        left: float,
        top: float,
        width: float,
        height: float,
        x: tuple[float, float],
        y: tuple[float, float],
        log: str = "",
    ) -> Plot:
        """A plot without a frame or words; `x` runs to the right, `y` upwards; `log`: "x" or "y"."""
        made = Plot((left, left + width), (top + height, top), x, y, log)
        self._plots.append(made)
        return made

    def ground(self) -> Plot:
        """The plot that covers the whole picture, in its own units from the top left corner."""
        if self._ground is None:
            self._ground = self.plot(0, 0, WIDTH, self.height, (0, WIDTH), (self.height, 0))
        return self._ground

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        colour: str = "ink",
        anchor: str = "start",
        bold: bool = False,
        into: Element | None = None,
    ) -> None:
        """One line of words with its foot at `y`; `anchor`: start, middle, end."""
        made = Element("text", x=_short(x), y=_short(y))
        if anchor != "start":
            made.set("text-anchor", anchor)
        if bold:
            made.set("font-weight", "600")
        if colour != "ink":
            made.set("style", f"fill: {_VARIABLES[colour]}")
        made.text = plain(words)
        (self._over if into is None else into).append(made)

    def row(self, top: float, height: float, link: str, title: str) -> Element:
        """An area across the whole ground with a title, and a link if there is one; words go into it.

        The link is not stopped at by the keyboard: the table beside each picture has the same.
        """
        made = Element("a", href=plain(link), tabindex="-1") if link else Element("g")
        SubElement(made, "title").text = plain(title)
        area = {"x": "0", "y": _short(top), "width": _short(WIDTH), "height": _short(height)}
        SubElement(made, "rect", area, style="fill: none; pointer-events: all")
        self._over.append(made)
        return made

    def svg(self, name: str, about: str) -> str:
        """The picture with its title and its content in a sentence."""
        # Who listens hears the title and the sentence. The words and links laid over are for who looks: the
        # table beside each picture has the same, and an image may hold no links for who listens.
        width, height = _short(WIDTH), _short(self.height)
        whole = Element(
            "svg",
            {"xmlns": "http://www.w3.org/2000/svg", "class": "picture", "viewBox": f"0 0 {width} {height}"},
            width=width,
            height=height,
            role="none",
        )
        whole.set("font-family", FONTS)
        whole.set("font-size", _short(TEXT))
        whole.set("style", f"fill: {_VARIABLES['ink']}")
        image = SubElement(whole, "g", {"role": "img", "aria-labelledby": f"{_MARK}title {_MARK}desc"})
        SubElement(image, "title", id=f"{_MARK}title").text = plain(name)
        SubElement(image, "desc", id=f"{_MARK}desc").text = plain(about)
        image.extend(self._drawn())
        SubElement(whole, "g", {"aria-hidden": "true"}).extend(self._over)
        text = tostring(whole, "unicode")
        # Ids of its own, many pictures to a page: from its name and from all that it shows.
        slug = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:24].rstrip("-") or "picture"
        return text.replace(_MARK, f"p-{slug}-{crc32(text.encode()):08x}-")

    def _drawn(self) -> list[Element]:
        """The shapes of all plots: those of an earlier plot below, then by their order."""
        ids: dict[tuple[str, float], str] = {}
        return [
            _group(shapes, ids)
            for plot in self._plots
            for shapes in sorted(plot.shapes, key=lambda shapes: shapes.order)
        ]


def together(parts: Sequence[Drawing], name: str, about: str) -> str:
    """The SVG of a picture: of all its parts, where it is too tall for one, each named by its number."""
    whole = len(parts)
    return "\n".join(
        part.svg(name if whole == 1 else f"{name} ({nth} of {whole})", about)
        for nth, part in enumerate(parts, 1)
    )


def marks(plot: Plot, kind: str, x: Sequence[float], y: Sequence[float]) -> None:
    """The marks of one class of verdicts at some points."""
    colour = colour_of(kind)
    plot.draw(
        [list(zip(x, y, strict=True))],
        f"marks {kind}",
        order=5,
        face="paper" if kind in HOLLOW else colour,
        edge="paper" if kind == "bad" else colour,
        width=0.8 if kind == "bad" else 1.8,
        marker=MARKERS[kind],
        size={"bad": 12.5, "plain": 7}.get(kind, 9),
    )


def rings(plot: Plot, points: Sequence[tuple[float, float]], gid: str) -> None:
    """A ring at each of some values that no verdict belongs to."""
    plot.draw([points], gid, order=5, edge="ink", width=1.5, marker="circle", size=7)


def lines(
    plot: Plot,
    segments: Sequence[Sequence[tuple[float, float]]],
    colour: str,
    width: float = 1.5,
    *,
    gid: str = "",
    order: float = 3,
    dashes: Sequence[float] = (),
) -> None:
    """Many lines of one colour; `dashes`: strokes and gaps in widths of the line."""
    plot.draw(segments, gid, order=order, edge=colour, width=width, dashes=dashes)


def areas(
    plot: Plot,
    corners: Sequence[Sequence[tuple[float, float]]],
    colour: str,
    *,
    edge: str = "",
    gid: str = "",
    order: float = 1,
) -> None:
    """Many areas of one colour, without an edge where none is named."""
    plot.draw(corners, gid, order=order, face=colour, edge=edge, width=1.5 if edge else 0)


def arrows(drawing: Drawing, tails: Sequence[tuple[float, float]], across: float, down: float) -> None:
    """Arrows from some places of the ground, all the same way: what is known is only a bound."""
    length = (across**2 + down**2) ** 0.5
    along, aside = (across / length * 5, down / length * 5), (down / length * 4, across / length * 4)
    drawn = []
    for x, y in tails:
        tip = (x + across, y + down)
        back = (tip[0] - along[0], tip[1] - along[1])
        ends = [(back[0] + aside[0], back[1] + aside[1]), (back[0] - aside[0], back[1] - aside[1])]
        drawn += [[(x, y), tip], [ends[0], tip, ends[1]]]
    lines(drawing.ground(), drawn, "ink", 1.6, gid="part bounds", order=3)


def box(left: float, right: float, top: float, bottom: float) -> list[tuple[float, float]]:
    """The corners of an upright rectangle."""
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def baseline(top: float, height: float, lines_inside: int = 1) -> float:
    """The foot of the first of some lines of words that stand in the middle of a row."""
    return top + (height - LINE * lines_inside) / 2 + LINE * 0.78


def _group(shapes: Shapes, ids: dict[tuple[str, float], str]) -> Element:
    """Shapes that look alike: their look said once. A mark's outline stands where it is first used."""
    made = Element("g", {"class": shapes.kind} if shapes.kind else {}, style=_look(shapes))
    if not shapes.marker:
        closed = " z" if shapes.face else ""
        SubElement(made, "path", d=" ".join(f"{_path(outline)}{closed}" for outline in shapes.outlines))
        return made
    form = shapes.marker, shapes.size
    if form not in ids:
        ids[form] = f"{_MARK}{len(ids)}"
        SubElement(SubElement(made, "defs"), "path", id=ids[form], d=_outline(*form))
    for x, y in shapes.outlines[0]:
        SubElement(made, "use", href=f"#{ids[form]}", x=_short(x), y=_short(y))
    return made


def _look(shapes: Shapes) -> str:
    parts = [f"fill: {_VARIABLES[shapes.face] if shapes.face else 'none'}"]
    if shapes.edge and shapes.width:
        parts.append(f"stroke: {_VARIABLES[shapes.edge]}")
        parts += [f"stroke-width: {_short(shapes.width)}"] if shapes.width != 1 else []
    if shapes.dashes:
        lengths = ",".join(_short(length * shapes.width) for length in shapes.dashes)
        parts.append(f"stroke-dasharray: {lengths}")
    return "; ".join(parts)


def _path(outline: Sequence[tuple[float, float]]) -> str:
    return "M " + " L ".join(f"{_short(x)} {_short(y)}" for x, y in outline)


def _outline(marker: str, size: float) -> str:
    """The path of a mark about its middle."""
    if marker == "circle":
        radius = _short(size / 2)
        half = f"A {radius} {radius} 0 0 1"
        return f"M 0 -{radius} {half} 0 {radius} {half} 0 -{radius} z"
    return _path([(x * size, y * size) for x, y in _OUTLINES[marker]]) + " z"


def _short(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text

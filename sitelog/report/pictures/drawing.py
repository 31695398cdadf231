"""One picture in the making: plots of Matplotlib placed by hand, words and links laid over them → clean SVG.

Matplotlib draws what has a scale. Words are laid on afterwards, in the page's own font, since their size is
only known where the page is read. Nothing global is touched: no pyplot, and settings only within a context.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING
from xml.etree import ElementTree
from zlib import crc32

from sitelog.report.pictures.style import FONTS, HOLLOW, LINE, MARKERS, PALETTE, TEXT, WIDTH, colour_of
from sitelog.report.pictures.words import plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

_SVG = "http://www.w3.org/2000/svg"
_XLINK = "{http://www.w3.org/1999/xlink}"
_VARIABLES = {colour: f"var(--{name}, {colour})" for name, colour in PALETTE.items()}
_COLOUR = re.compile(r"#[0-9a-f]{6}")
_NUMBER = re.compile(r"-?\d+\.\d+(?:e-?\d+)?")
_SETTINGS = {"svg.fonttype": "none", "svg.hashsalt": "sitelog", "svg.id": None, "path.simplify": False}
_NO_METADATA = {"Date": None, "Creator": None, "Format": None, "Type": None}
_LEFT_OUT = frozenset({"metadata", "style"})


class Drawing:
    """A ground of the common width; measures count from its top left corner, in units of the picture."""

    def __init__(self, height: float) -> None:
        from matplotlib.backends.backend_svg import FigureCanvasSVG
        from matplotlib.figure import Figure

        self.height = height
        self._figure = Figure(figsize=(WIDTH / 72, height / 72), dpi=72, frameon=False)
        self._canvas = FigureCanvasSVG(self._figure)
        self._ground: Axes | None = None
        self._over: list[ElementTree.Element] = []

    def axes(
        self,
        left: float,
        top: float,
        width: float,
        height: float,
        x: tuple[float, float],
        y: tuple[float, float],
        log: str = "",
    ) -> Axes:
        """A plot without a frame or words; `x` runs to the right, `y` upwards; `log`: "x" or "y"."""
        within = (left / WIDTH, 1 - (top + height) / self.height, width / WIDTH, height / self.height)
        axes = self._figure.add_axes(within)
        axes.set_axis_off()
        if log == "x":
            axes.set_xscale("log")
        if log == "y":
            axes.set_yscale("log")
        axes.set_xlim(*x)
        axes.set_ylim(*y)
        return axes

    def ground(self) -> Axes:
        """The plot that covers the whole picture, in its own units from the top left corner."""
        if self._ground is None:
            self._ground = self.axes(0, 0, WIDTH, self.height, (0, WIDTH), (self.height, 0))
        return self._ground

    def place(self, axes: Axes, x: float, y: float) -> tuple[float, float]:
        """Where a point of a plot stands on the ground."""
        across, up = axes.transData.transform((x, y))
        return float(across), self.height - float(up)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        colour: str = "ink",
        anchor: str = "start",
        bold: bool = False,
        into: ElementTree.Element | None = None,
    ) -> None:
        """One line of words with its foot at `y`; `anchor`: start, middle, end."""
        made = _element("text", x=_short(x), y=_short(y))
        if anchor != "start":
            made.set("text-anchor", anchor)
        if bold:
            made.set("font-weight", "600")
        if colour != "ink":
            made.set("style", f"fill: {_VARIABLES[PALETTE[colour]]}")
        made.text = plain(words)
        if into is None:
            self._over.append(made)
        else:
            into.append(made)

    def row(self, top: float, height: float, link: str, title: str) -> ElementTree.Element:
        """An area across the whole ground with a title, and a link if there is one; words go into it.

        The link is not stopped at by the keyboard: the table beside each picture has the same.
        """
        made = _element("a", href=link, tabindex="-1") if link else _element("g")
        _sub(made, "title").text = plain(title)
        area = _sub(made, "rect", x="0", y=_short(top), width=_short(WIDTH), height=_short(height))
        area.set("style", "fill: none; pointer-events: all")
        self._over.append(made)
        return made

    def svg(self, name: str, about: str) -> str:
        """The picture with its title and its content in a sentence."""
        import matplotlib

        out = io.StringIO()
        with matplotlib.rc_context(_SETTINGS):  # type: ignore[arg-type]
            self._canvas.print_svg(out, metadata=_NO_METADATA)  # type: ignore[no-untyped-call]
        drawn = ElementTree.fromstring(out.getvalue())
        # Who listens hears the title and the sentence. The words and links laid over are for who looks: the
        # table beside each picture has the same, and an image may hold no links for who listens.
        image, seen = _element("g", role="img"), _element("g", **{"aria-hidden": "true"})
        _sub(image, "title").text, _sub(image, "desc").text = plain(name), plain(about)
        image.extend(_Cleaner().clean(drawn))
        seen.extend(self._over)
        root = _element(
            "svg",
            **{
                "xmlns": _SVG,
                "class": "picture",
                "viewBox": f"0 0 {_short(WIDTH)} {_short(self.height)}",
                "width": _short(WIDTH),
                "height": _short(self.height),
                "role": "none",
                "font-family": FONTS,
                "font-size": _short(TEXT),
            },
        )
        root.set("style", f"fill: {_VARIABLES[PALETTE['ink']]}")
        root.extend([image, seen])
        return _named(root, name)


def marks(axes: Axes, kind: str, x: Sequence[float], y: Sequence[float]) -> None:
    """The marks of one class of verdicts at some points."""
    colour = PALETTE[colour_of(kind)]
    size = {"bad": 12.5, "plain": 7}.get(kind, 9)
    axes.plot(
        x,
        y,
        linestyle="none",
        marker=MARKERS[kind],
        markersize=size,
        markerfacecolor=PALETTE["paper"] if kind in HOLLOW else colour,
        markeredgecolor=PALETTE["paper"] if kind == "bad" else colour,
        markeredgewidth=0.8 if kind == "bad" else 1.8,
        clip_on=False,
        gid=f"marks {kind}",
        zorder=5,
    )


def lines(
    axes: Axes,
    segments: Sequence[Sequence[tuple[float, float]]],
    colour: str,
    width: float = 1.5,
    *,
    gid: str = "",
    order: float = 3,
    style: str | tuple[int, tuple[int, ...]] = "solid",
) -> None:
    """Many lines of one colour."""
    from matplotlib.collections import LineCollection

    if segments:
        made = LineCollection(
            segments, colors=PALETTE[colour], linewidths=width, linestyles=style, clip_on=False, zorder=order
        )
        made.set_gid(gid or None)
        axes.add_collection(made, autolim=False)


def areas(
    axes: Axes,
    corners: Sequence[Sequence[tuple[float, float]]],
    colour: str,
    *,
    edge: str = "",
    gid: str = "",
    order: float = 1,
) -> None:
    """Many areas of one colour, without an edge where none is named."""
    from matplotlib.collections import PolyCollection

    if corners:
        made = PolyCollection(
            corners,
            facecolors=PALETTE[colour],
            edgecolors=PALETTE[edge] if edge else "none",
            linewidths=1.5 if edge else 0,
            clip_on=False,
            zorder=order,
        )
        made.set_gid(gid or None)
        axes.add_collection(made, autolim=False)


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


class _Cleaner:
    """Matplotlib's SVG → our own elements: no ids but those in use, colours as variables, short numbers."""

    def __init__(self) -> None:
        self._ids: dict[str, str] = {}

    def clean(self, node: ElementTree.Element) -> list[ElementTree.Element]:
        """What stands inside an element."""
        return [made for child in node for made in self._one(child)]

    def _one(self, node: ElementTree.Element) -> list[ElementTree.Element]:
        tag = node.tag.rpartition("}")[2]
        if tag in _LEFT_OUT:
            return []
        inside = self.clean(node)
        kind = node.get("id", "") if tag == "g" else ""
        if tag == "g" and not kind.startswith(("marks", "part")):
            return inside  # Matplotlib's own groups say nothing that a reader could use
        if tag == "defs" and not inside:
            return []
        made = _element(tag)
        if kind:
            made.set("class", kind)
        elif "id" in node.attrib:
            made.set("id", self._id(node.attrib["id"]))
        for key, value in node.attrib.items():
            self._attribute(made, key, value)
        made.extend(inside)
        if kind:
            _hoist(made)
        return [made]

    def _attribute(self, made: ElementTree.Element, key: str, value: str) -> None:
        if key == f"{_XLINK}href":
            made.set("href", "#" + self._id(value[1:]))
        elif key == "style":
            made.set("style", _COLOUR.sub(lambda found: _VARIABLES[found[0]], value))
        elif key == "d":
            made.set("d", " ".join(_NUMBER.sub(_rounded, value).split()))
        elif key in ("x", "y", "transform"):
            made.set(key, _NUMBER.sub(_rounded, value))

    def _id(self, own: str) -> str:
        return self._ids.setdefault(own, f"{_MARK}{len(self._ids)}")


def _hoist(group: ElementTree.Element) -> None:
    """Say once what all shapes of a group look like."""
    shapes = [shape for shape in group if shape.tag != "defs"]
    styles = {shape.get("style", "") for shape in shapes}
    if len(styles) == 1 and (style := styles.pop()):
        group.set("style", style)
        for shape in shapes:
            del shape.attrib["style"]


_MARK = "ID-"  # stands in front of every id until the picture is whole


def _named(root: ElementTree.Element, name: str) -> str:
    """The picture as text, its ids made its own: from its name and from all that it shows."""
    image = root[0]
    image[0].set("id", f"{_MARK}title")
    image[1].set("id", f"{_MARK}desc")
    image.set("aria-labelledby", f"{_MARK}title {_MARK}desc")
    whole = ElementTree.tostring(root, encoding="unicode")
    slug = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:24].rstrip("-") or "picture"
    own = f"p-{slug}-{crc32(whole.encode()):08x}-"
    for node in root.iter():
        for key in ("id", "aria-labelledby", "href"):
            value = node.get(key, "")
            if value and (key != "href" or node.tag == "use"):
                node.set(key, value.replace(_MARK, own))
    return ElementTree.tostring(root, encoding="unicode")


def _element(tag: str, **attributes: str) -> ElementTree.Element:
    return ElementTree.Element(tag, attributes)


def _sub(parent: ElementTree.Element, tag: str, **attributes: str) -> ElementTree.Element:
    return ElementTree.SubElement(parent, tag, attributes)


def _short(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _rounded(found: re.Match[str]) -> str:
    return _short(float(found[0]))

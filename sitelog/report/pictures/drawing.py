"""One picture in the making: plots placed by hand, shapes in them, words and links laid over → clean SVG.

Shapes are drawn straight on Matplotlib's SVG renderer: a plot needs only a scale, and Matplotlib's axes would
make ticks and labels for every one of them, only to have them thrown away. Words are laid on afterwards, in
the page's own font, since their size is only known where the page is read. Nothing global is touched: no
pyplot, no settings.
"""

from __future__ import annotations

import io
import re
from functools import cache
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape, quoteattr
from zlib import crc32

from sitelog.report.pictures.plots import Plot, Shapes
from sitelog.report.pictures.style import FONTS, HOLLOW, LINE, MARKERS, PALETTE, TEXT, WIDTH, colour_of
from sitelog.report.pictures.words import plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.markers import MarkerStyle
    from matplotlib.path import Path

_VARIABLES = {colour: f"var(--{name}, {colour})" for name, colour in PALETTE.items()}
_COLOUR = re.compile(r"#[0-9a-f]{6}\b")
_LONG_NUMBER = re.compile(r"-?\d+\.\d{3,}")
_STYLE = re.compile(r' style="([^"]*)"')
_NEEDLESS = re.compile(r' style="[^"]*"|</?g>|\s+(?=[<"]|$)')
_ID = re.compile(r'\b(?:xlink:)?(id="|href="#)([^"]*)"')
_MARK = "\x02"  # stands in front of every id until the picture is whole; no word can hold it


class Drawing:
    """A ground of the common width; measures count from its top left corner, in units of the picture."""

    def __init__(self, height: float) -> None:
        self.height = height
        self._plots: list[Plot] = []
        self._ground: Plot | None = None
        self._over: list[Row] = []

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
        into: Row | None = None,
    ) -> None:
        """One line of words with its foot at `y`; `anchor`: start, middle, end."""
        look = f' text-anchor="{anchor}"' if anchor != "start" else ""
        look += ' font-weight="600"' if bold else ""
        look += f' style="fill: {_VARIABLES[PALETTE[colour]]}"' if colour != "ink" else ""
        made = f'<text x="{_short(x)}" y="{_short(y)}"{look}>{escape(plain(words))}</text>'
        if into is None:
            self._over.append(Row(made))
        else:
            into.inside.append(made)

    def row(self, top: float, height: float, link: str, title: str) -> Row:
        """An area across the whole ground with a title, and a link if there is one; words go into it.

        The link is not stopped at by the keyboard: the table beside each picture has the same.
        """
        start, end = (f'<a href={quoteattr(plain(link))} tabindex="-1">', "</a>") if link else ("<g>", "</g>")
        area = f'<rect x="0" y="{_short(top)}" width="{_short(WIDTH)}" height="{_short(height)}"'
        area += ' style="fill: none; pointer-events: all" />'
        made = Row(f"{start}<title>{escape(plain(title))}</title>{area}", end)
        self._over.append(made)
        return made

    def svg(self, name: str, about: str) -> str:
        """The picture with its title and its content in a sentence."""
        # Who listens hears the title and the sentence. The words and links laid over are for who looks: the
        # table beside each picture has the same, and an image may hold no links for who listens.
        size = _short(WIDTH), _short(self.height)
        whole = (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="picture" viewBox="0 0 {size[0]} {size[1]}"'
            f' width="{size[0]}" height="{size[1]}" role="none" font-family="{FONTS}"'
            f' font-size="{_short(TEXT)}" style="fill: {_VARIABLES[PALETTE["ink"]]}">'
            f'<g role="img" aria-labelledby="{_MARK}title {_MARK}desc">'
            f'<title id="{_MARK}title">{escape(plain(name))}</title>'
            f'<desc id="{_MARK}desc">{escape(plain(about))}</desc>{self._drawn()}</g>'
            f'<g aria-hidden="true">{"".join(map(str, self._over))}</g></svg>'
        )
        # Ids of its own, many pictures to a page: from its name and from all that it shows.
        slug = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:24].rstrip("-") or "picture"
        return whole.replace(_MARK, f"p-{slug}-{crc32(whole.encode()):08x}-")

    def _drawn(self) -> str:
        """The shapes of all plots: those of an earlier plot below, then by their order."""
        from matplotlib.backends.backend_svg import RendererSVG
        from matplotlib.transforms import Affine2D

        out = io.StringIO()
        renderer = RendererSVG(WIDTH, self.height, out)  # type: ignore[no-untyped-call]
        upright = Affine2D.from_values(1, 0, 0, -1, 0, self.height)  # the renderer counts from the foot
        ids: dict[str, str] = {}
        groups = []
        for plot in self._plots:
            for shapes in sorted(plot.shapes, key=lambda one: one.order):
                start = out.tell()
                _draw(renderer, shapes, upright)
                groups.append(_group(out.getvalue()[start:], shapes.kind, ids))
        return "".join(groups)


class Row:
    """Markup with other markup inside."""

    def __init__(self, start: str, end: str = "") -> None:
        self.start, self.end = start, end
        self.inside: list[str] = []

    def __str__(self) -> str:
        return f"{self.start}{''.join(self.inside)}{self.end}"


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
    plot.draw([points], gid, order=5, edge="ink", width=1.5, marker="o", size=7)


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


def _draw(renderer: Any, shapes: Shapes, upright: Any) -> None:
    from matplotlib.colors import to_rgb
    from matplotlib.path import Path
    from matplotlib.transforms import Affine2D

    context = renderer.new_gc()
    context.set_linewidth(shapes.width)
    if shapes.edge:
        context.set_foreground(PALETTE[shapes.edge])
    face = to_rgb(PALETTE[shapes.face]) if shapes.face else None
    if shapes.marker:
        form = _marker(shapes.marker)
        context.set_joinstyle(form.get_joinstyle())
        at = Path(shapes.outlines[0])
        scaled = form.get_transform() + Affine2D().scale(shapes.size)
        renderer.draw_markers(context, form.get_path(), scaled, at, upright, face)
        return
    if shapes.dashes:
        context.set_dashes(0, [length * shapes.width for length in shapes.dashes])
    renderer.draw_path(context, _path(shapes), upright, face)


@cache
def _marker(name: str) -> MarkerStyle:
    from matplotlib.markers import MarkerStyle

    return MarkerStyle(name)


def _path(shapes: Shapes) -> Path:
    """All outlines in one; what has a face is closed."""
    from matplotlib.path import Path

    points: list[tuple[float, float]] = []
    codes: list[Any] = []
    for outline in shapes.outlines:
        points += outline
        codes += [Path.MOVETO, *[Path.LINETO] * (len(outline) - 1)]
        if shapes.face:
            points.append(outline[0])
            codes.append(Path.CLOSEPOLY)
    made = Path(points, codes)
    made.should_simplify = False  # every value is drawn, whatever the reader's settings
    return made


def _group(drawn: str, kind: str, ids: dict[str, str]) -> str:
    """What Matplotlib wrote for shapes that look alike, cleaned: their look said once, its colours variables.

    Ids are numbered, since Matplotlib's are not the same in every run.
    """
    drawn = _ID.sub(lambda own: f'{own[1]}{ids.setdefault(own[2], f"{_MARK}{len(ids)}")}"', drawn)
    style = _COLOUR.sub(lambda found: _VARIABLES[found[0]], _STYLE.findall(drawn)[-1])
    inside = _NEEDLESS.sub("", _LONG_NUMBER.sub(_rounded, drawn))
    named = f" class={quoteattr(kind)}" if kind else ""
    return f'<g{named} style="{style}">{" ".join(inside.split())}</g>'


def _short(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _rounded(found: re.Match[str]) -> str:
    return _short(float(found[0]))

"""What the marks of a picture mean, below it: only those that it has."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from sitelog.report.pictures.drawing import Drawing, areas, baseline, box, lines, marks
from sitelog.report.pictures.style import LINE, WIDTH, class_of
from sitelog.report.pictures.words import width_of

_INSET = 2.0
_ROOM = 24.0  # for a mark before its words
_WORDS = {
    "allowed": "allowed",
    "median": "middle half, median",
    "uncertainty": "uncertainty, k = 2",
    "bound": "beyond what can be read",
    "wait": "waited",
    "wanted": "asked",
}
_ORDER = ("good", "bad", "open", "missing", "quiet")


class LegendSign(NamedTuple):
    """One mark and its words, where they stand."""

    kind: str
    words: str
    left: float
    line: int


class Legend(NamedTuple):
    """The marks of one picture, broken into lines."""

    signs: Sequence[LegendSign]
    lines: int

    @property
    def height(self) -> float:
        """The room it takes."""
        return self.lines * (LINE + 4) + 10 if self.lines else 4.0

    def draw(self, drawing: Drawing, top: float) -> None:
        """Draw it below `top`."""
        if not self.signs:
            return
        plot = drawing.ground()
        for sign in self.signs:
            middle = top + 8 + sign.line * (LINE + 4) + LINE / 2
            left, right = sign.left, sign.left + 16
            if sign.kind in _ORDER:
                marks(plot, sign.kind, [sign.left + 8], [middle])
            elif sign.kind == "allowed":
                areas(plot, [box(left, right, middle - 7, middle + 7)], "band")
                lines(plot, [[(end, middle - 7), (end, middle + 7)] for end in (left, right)], "quiet", 1.8)
            elif sign.kind == "uncertainty":
                ends = [[(end, middle - 4), (end, middle + 4)] for end in (left, right)]
                lines(plot, [[(left, middle), (right, middle)], *ends], "ink", 1.6)
            elif sign.kind == "median":
                areas(plot, [box(left, right, middle - 6, middle + 6)], "sheet", edge="ink")
                lines(plot, [[(left + 8, middle - 6), (left + 8, middle + 6)]], "ink", 3)
            elif sign.kind == "wait":
                areas(plot, [box(left, right, middle - 4, middle + 4)], "accent")
            elif sign.kind == "wanted":
                lines(plot, [[(left + 8, middle - 8), (left + 8, middle + 8)]], "ink", 2.4)
            else:
                head = [(right - 5, middle - 4), (right, middle), (right - 5, middle + 4)]
                lines(plot, [[(left, middle), (right, middle)], head], "ink", 1.6)
            foot = baseline(middle - LINE / 2, LINE)
            drawing.text(sign.left + _ROOM, foot, sign.words, colour="quiet")


def legend(verdicts: Sequence[str], extras: Sequence[str] = ()) -> Legend:
    """The marks for some verdicts, and for the other shapes that a picture has."""
    words: dict[str, list[str]] = {}
    for verdict in filter(None, verdicts):
        said = words.setdefault(class_of(verdict), [])
        if verdict not in said:
            said.append(verdict)
    items = [(kind, ", ".join(words[kind])) for kind in _ORDER if kind in words]
    items += [(extra, _WORDS[extra]) for extra in extras]
    signs: list[LegendSign] = []
    left, line = _INSET, 0
    for kind, meaning in items:
        width = _ROOM + width_of(meaning)
        if left > _INSET and left + width > WIDTH:
            left, line = _INSET, line + 1
        signs.append(LegendSign(kind, meaning, left, line))
        left += width + 14
    return Legend(signs, line + 1 if signs else 0)

"""How many there are of each: one bar for each group."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.report.pictures.drawing import Drawing, areas, box, together
from sitelog.report.pictures.lanes import Lane, PlacedLane, draw_words, lay_out
from sitelog.report.pictures.style import HOLLOW, SIGNS, colour_of
from sitelog.report.pictures.words import number

Group = tuple[str, float, str]


def bars(groups: Sequence[Group], *, name: str) -> str:
    """A bar from nought for each group of `(label, count, class)`; the classes are those of verdicts.

    Only what is open or quiet is an outline. "" where there are no groups.
    """
    if not groups:
        return ""
    lanes = [_lane(*group) for group in groups]
    layout = lay_out(lanes, 0)
    most = max(count for _, count, _ in groups) or 1.0
    about = "; ".join(f"{label} {number(count)}" for label, count, _ in groups) + "."
    parts = []
    for rows in layout.parts:
        drawing = Drawing(rows[-1].bottom + 2)
        plot = drawing.plot(layout.left, 0, layout.width, drawing.height, (0, most), (drawing.height, 0))
        shapes: dict[str, list[list[tuple[float, float]]]] = {}
        for row in rows:
            draw_words(drawing, lanes, row)
            _, count, kind = groups[row.at]
            shapes.setdefault(kind, []).append(_bar(count, row))
        for kind, corners in shapes.items():
            colour = colour_of(kind) if kind else "accent"
            fill = "paper" if kind in HOLLOW else colour
            areas(plot, corners, fill, edge=colour, gid=f"part {kind or 'plain'}")
        parts.append(drawing)
    return together(parts, name, about)


def _lane(label: str, count: float, kind: str) -> Lane:
    sign = f"{SIGNS[kind]} " if kind in SIGNS else ""
    return Lane(f"{sign}{label}", number(count), "ink", kind == "bad", "", f"{label}: {number(count)}")


def _bar(count: float, row: PlacedLane) -> list[tuple[float, float]]:
    return box(0, count, row.middle - 7, row.middle + 7)

"""A plot: a scale to the right, a scale upwards, and the shapes in it by their places on the ground."""

from __future__ import annotations

from collections.abc import Sequence
from math import log10
from typing import NamedTuple

Span = tuple[float, float]
Spot = tuple[float, float]

_LEAST = 1e-300  # what is nought or less stands at the far end of a scale of decades


class Shapes(NamedTuple):
    """Shapes that look alike: lines, areas where they have a face, or marks where they have a marker."""

    outlines: Sequence[Sequence[Spot]]
    kind: str
    order: float
    face: str
    edge: str
    width: float
    dashes: Sequence[float]
    marker: str
    size: float


class Plot:
    """Where values stand between two ends across and two upwards; `log` names the scale that has decades."""

    def __init__(self, across: Span, up: Span, x: Span, y: Span, log: str = "") -> None:
        self._across = _AxisScale(across, x, log == "x")
        self._up = _AxisScale(up, y, log == "y")
        self.shapes: list[Shapes] = []

    def place(self, x: float, y: float) -> Spot:
        """Where a point of the plot stands on the ground."""
        return self._across.place(x), self._up.place(y)

    def draw(
        self,
        outlines: Sequence[Sequence[Spot]],
        kind: str,
        *,
        order: float,
        face: str = "",
        edge: str = "",
        width: float = 0,
        dashes: Sequence[float] = (),
        marker: str = "",
        size: float = 0,
    ) -> None:
        """Add shapes, their points in the measures of the plot; those of a higher order lie above."""
        placed = [[self.place(*point) for point in outline] for outline in outlines]
        if placed:
            self.shapes.append(Shapes(placed, kind, order, face, edge, width, dashes, marker, size))


class _AxisScale:
    """From values to places, in proportion to them or to their logarithms."""

    def __init__(self, places: Span, values: Span, log: bool) -> None:
        self._log = log
        self._first = self._of(values[0])
        self._start = places[0]
        self._per = (places[1] - places[0]) / (self._of(values[1]) - self._first or 1.0)

    def _of(self, value: float) -> float:
        return log10(max(value, _LEAST)) if self._log else value

    def place(self, value: float) -> float:
        return round(self._start + (self._of(value) - self._first) * self._per, 2)

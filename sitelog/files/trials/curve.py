"""A logger's file → its course over time, thinned out to what a picture can show.

A million rows become some four hundred: the rows are taken in as many equal lots as there is room for, and of
each lot stay the first and the last, those with the smallest and the largest flow and voltage, and the two at
its longest gap. So no peak and no gap is lost, and no more than one lot is held beside what stays.
"""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from sitelog.files.trials.reading import read_trial
from sitelog.files.trials.results import Trouble
from sitelog.files.trials.watching import Moment

MOST_POINTS = 400
_OF_ONE_LOT = 8  # first and last, two extremes each of flow and voltage, two edges of a gap


class Course(NamedTuple):
    """One quantity at each of a curve's times, None where nothing was logged.

    Courses of one `group` belong beside each other, such as the energy that went in and out.
    """

    group: str
    name: str
    unit: str
    values: tuple[float | None, ...]


class Curve(NamedTuple):
    """Seconds from the first row, the courses over them, and where the record is broken.

    Between the points `one - 1` and `one` of each `one` in `breaks` nothing was logged. Power and current
    are positive where they charge.
    """

    seconds: tuple[float, ...]
    courses: tuple[Course, ...]
    breaks: tuple[int, ...]
    rows: int


_Kept = tuple[int, float, int, Moment]
"""One row: its number, its time from the first, its stretch without a gap, and what it says."""


class _Pair:
    """The rows with the smallest and the largest of something."""

    __slots__ = ("high", "low", "rows")

    def __init__(self) -> None:
        self.low, self.high = inf, -inf
        self.rows: list[_Kept] = []

    def add(self, value: float, one: _Kept) -> None:
        if value < self.low:
            self.low = value
            self.rows[:1] = [one]
        if value > self.high:
            self.high = value
            self.rows[1:] = [one]


class _Lot:
    """What stays of some rows that follow each other."""

    __slots__ = ("first", "flow", "gap", "last", "voltage")

    def __init__(self, first: _Kept) -> None:
        self.first = self.last = first
        self.flow, self.voltage = _Pair(), _Pair()
        self.gap: tuple[_Kept, _Kept] | None = None

    def add(self, one: _Kept, before: _Kept | None) -> None:
        self.last = one
        moment = one[3]
        flow = moment.power if moment.power is not None else moment.current
        if flow is not None and not self.flow.low <= flow <= self.flow.high:
            self.flow.add(flow, one)
        voltage = moment.voltage
        if voltage is not None and not self.voltage.low <= voltage <= self.voltage.high:
            self.voltage.add(voltage, one)
        if before is not None and before[2] != one[2]:
            longest = self.gap[1][1] - self.gap[0][1] if self.gap is not None else -1.0
            if one[1] - before[1] > longest:
                self.gap = (before, one)

    def kept(self) -> list[_Kept]:
        """The rows that stay, in no order; one of them may stand there twice."""
        return [self.first, self.last, *self.flow.rows, *self.voltage.rows, *(self.gap or ())]


class Thinning:
    """Takes every row of a file and keeps those that a picture needs."""

    def __init__(self, most: int = MOST_POINTS) -> None:
        self._lots = max(1, most // _OF_ONE_LOT)
        self._size = 1
        self._lot: _Lot | None = None
        self._count = self._stretch = 0
        self._kept: list[_Kept] = []
        self._last: _Kept | None = None
        self._zero = 0.0

    def begin(self, rows: int) -> None:
        """So many rows will come."""
        self._size = max(1, -(-rows // self._lots))

    def cut(self) -> None:
        """The record is broken before the next row."""
        self._stretch += 1

    def add(self, moment: Moment) -> None:
        """One more row; a time that runs backwards goes on where the last one was."""
        last = self._last
        if last is None:
            self._zero = moment.time
        elif moment.time - self._zero < last[1]:
            self._zero = moment.time - last[1]
        one = (self._count, moment.time - self._zero, self._stretch, moment)
        if self._lot is None:
            self._lot = _Lot(one)
        self._lot.add(one, last)
        self._last = one
        self._count += 1
        if self._count % self._size == 0:
            self._close()

    def _close(self) -> None:
        if self._lot is not None:
            self._kept += self._lot.kept()
        self._lot = None

    def curve(self) -> Curve:
        """What stays, in order."""
        self._close()
        points = [one for _, one in sorted({one[0]: one for one in self._kept}.items())]
        breaks = [at for at in range(1, len(points)) if points[at][2] != points[at - 1][2]]
        courses = [
            Course(group, name, unit, tuple(_scaled(getattr(one[3], field), times) for one in points))
            for field, group, name, unit, times in _COURSES
        ]
        return Curve(tuple(one[1] for one in points), tuple(_telling(courses)), tuple(breaks), self._count)


_COURSES = (
    ("power", "power", "", "W", 1.0),
    ("current", "current", "", "A", 1.0),
    ("energy_out", "energy", "out", "Wh", 1.0),
    ("energy_in", "energy", "in", "Wh", 1.0),
    ("charge_out", "charge", "out", "Ah", 1.0),
    ("charge_in", "charge", "in", "Ah", 1.0),
    ("soc", "state of charge", "", "%", 100.0),
    ("voltage", "voltage", "", "V", 1.0),
    ("temperature", "temperature", "", "°C", 1.0),
)


def _scaled(value: float | None, times: float) -> float | None:
    return None if value is None else value * times


def _telling(courses: list[Course]) -> list[Course]:
    """Without what was not logged, without sums of nothing, and current only where there is no power."""
    logged = [one for one in courses if any(value is not None for value in one.values)]
    logged = [one for one in logged if not one.name or any(one.values)]
    groups = {one.group for one in logged}
    less = {"current"} if "power" in groups else set()
    less |= {"charge"} if "energy" in groups else set()
    return [one for one in logged if one.group not in less]


def read_curve(file: str, what: str = "", most: int = MOST_POINTS) -> Curve | Trouble:
    """The course of a trial; `what` is what the log calls it. Never raises for what stands in the file."""
    thinning = Thinning(most)
    found = read_trial(file, what, thinning)
    return found if isinstance(found, Trouble) else thinning.curve()

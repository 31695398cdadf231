"""A logger's file → its course over time, thinned out to what a picture can show.

A million rows become some four hundred: the rows are taken in as many equal lots as there is room for, and of
each lot stay the first and the last, those with the smallest and the largest flow and voltage, and the two at
its longest gap. So no peak and no gap is lost, and no more than one lot is held beside what stays.
"""

from __future__ import annotations

from typing import NamedTuple

from sitelog.trials.reading import read_trial
from sitelog.trials.results import Trouble
from sitelog.trials.watching import Moment

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


class _Kept(NamedTuple):
    """One row: its number, its time from the first, the stretch without a gap that it belongs to."""

    at: int
    seconds: float
    stretch: int
    moment: Moment

    @property
    def flow(self) -> float | None:
        power = self.moment.power
        return power if power is not None else self.moment.current


class _Lot:
    """What stays of some rows that follow each other."""

    def __init__(self) -> None:
        self._ends: list[_Kept] = []
        self._flow: list[_Kept] = []
        self._voltage: list[_Kept] = []
        self._gap: tuple[_Kept, _Kept] | None = None

    def add(self, one: _Kept, before: _Kept | None) -> None:
        self._ends[1:] = [one]
        if (flow := one.flow) is not None:
            _extremes(self._flow, one, flow, [kept.flow for kept in self._flow])
        if (voltage := one.moment.voltage) is not None:
            _extremes(self._voltage, one, voltage, [kept.moment.voltage for kept in self._voltage])
        if before is not None and before.stretch != one.stretch:
            longest = self._gap[1].seconds - self._gap[0].seconds if self._gap is not None else -1.0
            if one.seconds - before.seconds > longest:
                self._gap = (before, one)

    def kept(self) -> list[_Kept]:
        """The rows that stay, in no order; one of them may stand there twice."""
        return [*self._ends, *self._flow, *self._voltage, *(self._gap or ())]


def _extremes(pair: list[_Kept], one: _Kept, value: float, held: list[float | None]) -> None:
    """Keep the rows with the smallest and the largest value as the first and the second of a pair."""
    if not pair:
        pair[:] = [one, one]
        return
    low, high = held
    if low is not None and value < low:
        pair[0] = one
    elif high is not None and value > high:
        pair[1] = one


class Thinning:
    """Takes every row of a file and keeps those that a picture needs."""

    def __init__(self, most: int = MOST_POINTS) -> None:
        self._lots = max(1, most // _OF_ONE_LOT)
        self._size = 1
        self._lot = _Lot()
        self._in_lot = self._count = self._stretch = 0
        self._kept: list[_Kept] = []
        self._last: _Kept | None = None
        self._zero: float | None = None

    def begin(self, rows: int) -> None:
        """So many rows will come."""
        self._size = max(1, -(-rows // self._lots))

    def cut(self) -> None:
        """The record is broken before the next row."""
        self._stretch += 1

    def add(self, moment: Moment) -> None:
        """One more row; a time that runs backwards goes on where the last one was."""
        last = self._last
        if self._zero is None:
            self._zero = moment.time
        elif last is not None and moment.time - self._zero < last.seconds:
            self._zero = moment.time - last.seconds
        one = _Kept(self._count, moment.time - self._zero, self._stretch, moment)
        self._lot.add(one, last)
        self._last = one
        self._count += 1
        self._in_lot += 1
        if self._in_lot == self._size:
            self._close()

    def _close(self) -> None:
        self._kept += self._lot.kept()
        self._lot, self._in_lot = _Lot(), 0

    def curve(self) -> Curve:
        """What stays, in order."""
        self._close()
        points = [one for _, one in sorted({one.at: one for one in self._kept}.items())]
        breaks = [at for at in range(1, len(points)) if points[at].stretch != points[at - 1].stretch]
        courses = [
            Course(group, name, unit, tuple(_scaled(getattr(one.moment, field), times) for one in points))
            for field, group, name, unit, times in _COURSES
        ]
        return Curve(
            tuple(one.seconds for one in points), tuple(_telling(courses)), tuple(breaks), self._count
        )


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

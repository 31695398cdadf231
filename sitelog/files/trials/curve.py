"""A logger's file → its course over time, thinned out to what a picture can show.

A million rows become some four hundred: the rows are taken in equal chunks, as many as there is room for. Of
each chunk stay the first and the last sample, those with the least and the greatest flow and voltage, and the
two at its longest gap. So no peak and no gap is lost, and one chunk at a time is held beside what stays.
"""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from sitelog.files.trials.reading import read_trial
from sitelog.files.trials.results import TrialFault
from sitelog.files.trials.watching import RunningSample

MOST_POINTS = 400
_OF_ONE_CHUNK = 8  # first and last, two extremes each of flow and voltage, two edges of a gap


class Channel(NamedTuple):
    """One quantity at each of a curve's times, None where nothing was logged.

    Channels of one `group` belong beside each other, such as the energy that went in and out.
    """

    group: str
    name: str
    unit: str
    values: tuple[float | None, ...]


class Curve(NamedTuple):
    """Seconds from the first row, the channels over them, and where the record is broken.

    For each index in `breaks` nothing was logged between that point and the one before it. Power and
    current are positive where they charge.
    """

    seconds: tuple[float, ...]
    channels: tuple[Channel, ...]
    breaks: tuple[int, ...]
    rows: int


class _Placed(NamedTuple):
    """One sample with its number, its time from the first in s, and which stretch without a gap it is of."""

    number: int
    seconds: float
    stretch: int
    sample: RunningSample


class _Pair:
    """The rows with the smallest and the largest of something."""

    __slots__ = ("high", "low", "rows")

    def __init__(self) -> None:
        self.low, self.high = inf, -inf
        self.rows: list[_Placed] = []

    def add(self, value: float, row: _Placed) -> None:
        if value < self.low:
            self.low = value
            self.rows[:1] = [row]
        if value > self.high:
            self.high = value
            self.rows[1:] = [row]


class _SampleChunk:
    """What stays of some samples that follow each other."""

    __slots__ = ("first", "flow", "gap", "last", "voltage")

    def __init__(self, first: _Placed) -> None:
        self.first = self.last = first
        self.flow, self.voltage = _Pair(), _Pair()
        self.gap: tuple[_Placed, _Placed] | None = None

    def add(self, row: _Placed, before: _Placed | None) -> None:
        self.last = row
        sample = row.sample
        flow = sample.power if sample.power is not None else sample.current
        if flow is not None and not self.flow.low <= flow <= self.flow.high:
            self.flow.add(flow, row)
        voltage = sample.voltage
        if voltage is not None and not self.voltage.low <= voltage <= self.voltage.high:
            self.voltage.add(voltage, row)
        if before is not None and before.stretch != row.stretch:
            longest = self.gap[1].seconds - self.gap[0].seconds if self.gap is not None else -1.0
            if row.seconds - before.seconds > longest:
                self.gap = (before, row)

    def kept(self) -> list[_Placed]:
        """The rows that stay, in no order; one of them may stand there twice."""
        return [self.first, self.last, *self.flow.rows, *self.voltage.rows, *(self.gap or ())]


class Thinning:
    """Takes every sample of a file and keeps those that a picture needs."""

    def __init__(self, most: int = MOST_POINTS) -> None:
        self._chunks = max(1, most // _OF_ONE_CHUNK)
        self._size = 1
        self._chunk: _SampleChunk | None = None
        self._count = self._stretch = 0
        self._kept: list[_Placed] = []
        self._last: _Placed | None = None
        self._zero = 0.0

    def begin(self, rows: int) -> None:
        """So many rows will come."""
        self._size = max(1, -(-rows // self._chunks))

    def cut(self) -> None:
        """The record is broken before the next row."""
        self._stretch += 1

    def add(self, sample: RunningSample) -> None:
        """One more sample; a time that runs backwards goes on where the last row was."""
        last = self._last
        if last is None:
            self._zero = sample.time
        elif sample.time - self._zero < last.seconds:
            self._zero = sample.time - last.seconds
        row = _Placed(self._count, sample.time - self._zero, self._stretch, sample)
        if self._chunk is None:
            self._chunk = _SampleChunk(row)
        self._chunk.add(row, last)
        self._last = row
        self._count += 1
        if self._count % self._size == 0:
            self._close()

    def _close(self) -> None:
        if self._chunk is not None:
            self._kept += self._chunk.kept()
        self._chunk = None

    def curve(self) -> Curve:
        """What stays, in order."""
        self._close()
        points = [row for _, row in sorted({row.number: row for row in self._kept}.items())]
        breaks = [at for at in range(1, len(points)) if points[at].stretch != points[at - 1].stretch]
        channels = [
            Channel(group, name, unit, tuple(_scaled(getattr(row.sample, field), times) for row in points))
            for field, group, name, unit, times in _CHANNELS
        ]
        return Curve(
            tuple(row.seconds for row in points), tuple(_telling(channels)), tuple(breaks), self._count
        )


_CHANNELS = (
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


def _telling(channels: list[Channel]) -> list[Channel]:
    """Without what was not logged, without sums of nothing, and current only where there is no power."""
    logged = [channel for channel in channels if any(value is not None for value in channel.values)]
    logged = [channel for channel in logged if not channel.name or any(channel.values)]
    groups = {channel.group for channel in logged}
    less = {"current"} if "power" in groups else set()
    less |= {"charge"} if "energy" in groups else set()
    return [channel for channel in logged if channel.group not in less]


def read_curve(file: str, what: str = "", most: int = MOST_POINTS) -> Curve | TrialFault:
    """The course of a trial; `what` is what the log calls it. Never raises for what stands in the file."""
    thinning = Thinning(most)
    found = read_trial(file, what, thinning)
    return found if isinstance(found, TrialFault) else thinning.curve()

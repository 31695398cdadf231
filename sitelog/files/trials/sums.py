"""Trapezoid sums over the samples of a file, charge and discharge apart, and its half-cycles ("runs")."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from sitelog.files.trials.results import HalfCycle

TURN = 0.05
"""Current the other way ends a run once it has moved this share of the run's charge (team assumption):
a pulse within a discharge does not cut it in two, a charge behind it does."""

MOST_RUNS = 100
_HOUR = 3600.0


def areas(first: float, last: float, seconds: float) -> tuple[float, float]:
    """The area above and the area below zero (positive) of a straight line from `first` to `last`.

    Unit: that of the values times hours.
    """
    hours = seconds / _HOUR
    if first >= 0 <= last:
        return (first + last) / 2 * hours, 0.0
    if first <= 0 >= last:
        return 0.0, -(first + last) / 2 * hours
    share = abs(first) / (abs(first) + abs(last))
    one, other = abs(first) / 2 * hours * share, abs(last) / 2 * hours * (1 - share)
    return (one, other) if first > 0 else (other, one)


@dataclass(slots=True)
class Sample:
    """One row: its line, time in s, current in A, voltage in V, power in W, state of charge as a share.

    Positive current and power charge.
    """

    line: int
    time: float
    current: float | None
    voltage: float | None
    power: float | None
    soc: float | None


class Flow(NamedTuple):
    """What flowed between two rows: charges in Ah, energies in Wh, none negative."""

    charge_in: float = 0.0
    charge_out: float = 0.0
    energy_in: float = 0.0
    energy_out: float = 0.0


@dataclass(slots=True)
class _Growing:
    """A half-cycle under way. Charges in Ah, energies in Wh."""

    direction: str
    start: Sample
    end: Sample
    seconds: float = 0.0
    charge: float = 0.0
    energy: float = 0.0
    half_charge: float = 0.0
    half_energy: float = 0.0
    broken: bool = False

    @property
    def amount(self) -> float:
        return self.charge or self.energy

    def finished(self, has_charge: bool, has_energy: bool) -> HalfCycle:
        return HalfCycle(
            direction=self.direction,
            first_line=self.start.line,
            last_line=self.end.line,
            seconds=self.seconds,
            charge=self.charge if has_charge else None,
            energy=self.energy if has_energy else None,
            half_charge=self.half_charge,
            half_energy=self.half_energy,
            start_voltage=self.start.voltage,
            end_voltage=self.end.voltage,
            start_soc=self.start.soc,
            end_soc=self.end.soc,
            broken=self.broken,
        )


@dataclass(slots=True)
class Integrator:
    """Takes rows one by one; a gap is told by `cut`. Energies in Wh, charges in Ah."""

    rest: float  # below this nothing flows: A, or W where there is no current
    has_charge: bool
    has_energy: bool
    seconds: float = 0.0
    charge_out: float = 0.0
    charge_in: float = 0.0
    energy_out: float = 0.0
    energy_in: float = 0.0
    half_charge: float = 0.0
    half_energy: float = 0.0
    counts: dict[str, int] = field(default_factory=lambda: {"out": 0, "in": 0})
    largest: dict[str, HalfCycle] = field(default_factory=dict)
    runs: list[HalfCycle] = field(default_factory=list)
    _last: Sample | None = None
    _run: _Growing | None = None
    _other: _Growing | None = None
    _back: float = 0.0  # what flowed the run's way again since the other way began
    _cut: bool = False

    def add(self, point: Sample) -> None:
        """One more row of the same stretch."""
        last, self._last = self._last, point
        if last is not None:
            self._interval(last, point)
        elif self._cut:
            self._cut = self._flows(point)  # what flows right behind a gap flowed in it too

    def cut(self) -> bool:
        """A gap: what is under way ends here. True where current flowed up to it."""
        flows = self._last is not None and self._flows(self._last)
        if self._run is not None and flows:
            self._run.broken = True
        self._close()
        self._last, self._cut = None, True
        return flows

    def finish(self) -> None:
        """The file ends."""
        self._close()

    def _flows(self, point: Sample) -> bool:
        flow = point.current if point.current is not None else point.power
        return flow is not None and abs(flow) > self.rest

    def _interval(self, last: Sample, point: Sample) -> None:
        seconds = point.time - last.time
        q_in = q_out = e_in = e_out = half_q = half_e = 0.0
        if last.current is not None and point.current is not None:
            q_in, q_out = areas(last.current, point.current, seconds)
            half_q = abs(point.current - last.current) * seconds / 2 / _HOUR
        if last.power is not None and point.power is not None:
            e_in, e_out = areas(last.power, point.power, seconds)
            half_e = abs(point.power - last.power) * seconds / 2 / _HOUR
        self._flowed(last, point, Flow(q_in, q_out, e_in, e_out), half_q, half_e)

    def count(self, point: Sample, flow: Flow) -> None:
        """One more row of a file of counters: what they rose since the row before."""
        last, self._last = self._last, point
        if last is not None:
            self._flowed(last, point, flow, 0.0, 0.0)

    def spoil(self) -> None:
        """What is under way holds rows that cannot be right."""
        for run in (self._run, self._other):
            if run is not None:
                run.broken = True

    def _flowed(self, last: Sample, point: Sample, flow: Flow, half_q: float, half_e: float) -> None:
        """Add what flowed between two rows to the sums and to the half-cycle under way."""
        q_in, q_out, e_in, e_out = flow
        seconds = point.time - last.time
        self.seconds += seconds
        self.charge_in += q_in
        self.charge_out += q_out
        self.energy_in += e_in
        self.energy_out += e_out
        self.half_charge += half_q
        self.half_energy += half_e
        if not (self._flows(last) or self._flows(point)) or not (q_in or q_out or e_in or e_out):
            return
        direction = "out" if (q_out or e_out) > (q_in or e_in) else "in"
        if self._run is None:
            self._run = self._begin(direction, last, point)
        run = self._run
        if direction == run.direction:
            if self._other is not None:
                self._back += max(q_in, q_out) if self.has_charge else max(e_in, e_out)
                if self._back > self._other.amount:
                    self._other = None  # the other way was but a pulse
        else:
            if self._other is None:
                self._other = self._begin(direction, last, point)
                self._back = 0.0
            run = self._other
        run.seconds += seconds
        run.charge += q_out if direction == "out" else q_in
        run.energy += e_out if direction == "out" else e_in
        run.half_charge += half_q
        run.half_energy += half_e
        if self._flows(point):
            run.end = point
        if run is self._other and run.amount > TURN * self._run.amount:
            self._finish_run(self._run)
            self._run, self._other = run, None

    def _begin(self, direction: str, last: Sample, point: Sample) -> _Growing:
        broken, self._cut = self._cut, False
        return _Growing(direction, last, point, broken=broken)

    def _close(self) -> None:
        if self._run is not None:
            self._finish_run(self._run)
        self._run = self._other = None

    def _finish_run(self, run: _Growing) -> None:
        done = run.finished(self.has_charge, self.has_energy)
        self.counts[run.direction] += 1
        if len(self.runs) < MOST_RUNS:
            self.runs.append(done)
        best = self.largest.get(run.direction)
        if best is None or _size(done) > _size(best):
            self.largest[run.direction] = done


def _size(run: HalfCycle) -> float:
    return run.charge if run.charge is not None else run.energy or 0.0

"""The second of two readings of a file: what flowed, the least and the most, and where the record breaks."""

from __future__ import annotations

from dataclasses import dataclass

from sitelog.files.trials.columns import LoggerColumn
from sitelog.files.trials.counters import EnergyCounters
from sitelog.files.trials.lines import TableLayout
from sitelog.files.trials.results import Extent, RecordGaps, Trial, TrialFault
from sitelog.files.trials.rows import LoggedRow, logged_rows
from sitelog.files.trials.sums import Integrator, Sample
from sitelog.files.trials.survey import GAP_TIMES, REST, FirstPass
from sitelog.files.trials.values import NumberReader, TimeReader
from sitelog.files.trials.watching import RunningSample, Watcher


@dataclass(slots=True)
class _CellSpread:
    """The largest distance between cells of one row, and where."""

    most: float | None = None
    line: int = 0

    def add(self, values: list[float], line: int) -> None:
        if len(values) > 1:
            apart = max(values) - min(values)
            if self.most is None or apart > self.most:
                self.most, self.line = apart, line


@dataclass(slots=True)
class _Statistics:
    """Lowest, highest and mean over time of something logged."""

    low: float = float("inf")
    high: float = float("-inf")
    area: float = 0.0
    seconds: float = 0.0
    total: float = 0.0
    count: int = 0
    last: tuple[float, float] | None = None

    def add(self, time: float, value: float | None) -> None:
        if value is None:
            return
        self.low, self.high = min(self.low, value), max(self.high, value)
        self.total, self.count = self.total + value, self.count + 1
        if self.last is not None and time > self.last[0]:
            self.area += (value + self.last[1]) / 2 * (time - self.last[0])
            self.seconds += time - self.last[0]
        self.last = (time, value)

    def range(self) -> Extent | None:
        if not self.count:
            return None
        return Extent(
            self.low, self.area / self.seconds if self.seconds else self.total / self.count, self.high
        )


class SecondPass:
    """The second of two readings of one file: every row added up.

    `what` is what the log calls the trial (`discharge`, `charge`, …); `watcher` is shown every row.
    """

    def __init__(self, layout: TableLayout, survey: FirstPass, what: str, watcher: Watcher | None) -> None:
        self.watcher = watcher
        self.file, self.layout, self.survey = layout.file, layout, survey
        roles = layout.columns.roles
        self.sign, self.direction = survey.sign(what)
        self.flows = "current" in roles or "power" in roles
        self.counters = EnergyCounters(roles, what) if not self.flows else None
        has_energy = ("current" in roles and "voltage" in roles) or "power" in roles
        self.sums = Integrator(survey.most * REST, "current" in roles, has_energy)
        self.longest_step = GAP_TIMES * survey.step
        self.gaps = RecordGaps()
        self.temperature, self.voltage, self.extra = _Statistics(), _Statistics(), _Statistics()
        self.spread, self.temperature_spread = _CellSpread(), _CellSpread()
        self.soc: list[float] = []
        self.blanks = 0
        self.seconds = 0.0

    def trial(self) -> Trial | TrialFault:
        """Add up every row."""
        if self.flows and not self.sign and self.survey.most:
            help = "log the voltage too, or a column that says charge or discharge"
            return TrialFault(self.file, self.layout.first_line - 1, self.direction, help)
        numbers = NumberReader(self.file, self.layout.delimiter)
        columns = self.layout.columns
        times = TimeReader(columns.time, columns.date, numbers)
        last: float | None = None
        for row in logged_rows(self.layout, numbers, times):
            if row is None:
                self.blanks += 1
                continue
            if not row.line:
                last = self._break(last, None, 0)
                continue
            if last is not None:
                last = self._break(last, row.time, row.line)
                self.seconds += row.time - last if last is not None else 0.0
            last = row.time
            self._add(row, numbers)
        self.sums.finish()
        if self.counters is not None and self.gaps.resets * 4 > self.survey.rows:
            message = f"the counters begin again {self.gaps.resets} times in {self.survey.rows} rows"
            return TrialFault(
                self.file, self.gaps.reset_line, message, "a table of cycles is no record of a trial"
            )
        return self._finished(times)

    def _break(self, last: float | None, time: float | None, line: int) -> float | None:
        """`last` again where the row follows on; None where the record is broken before it."""
        if last is None:
            return None
        if time is None or time < last:
            flows = self._cut()
            first = self.gaps.reset_line or line
            self.gaps = self.gaps._replace(
                resets=self.gaps.resets + 1, reset_line=first, live=self.gaps.live or flows
            )
            return None
        step = time - last
        if self.counters is None and step > self.longest_step * (1 + 1e-9):
            flows = self._cut()
            gaps = self.gaps
            longest, where = (step, line) if step > gaps.longest else (gaps.longest, gaps.line)
            self.gaps = gaps._replace(
                found=gaps.found + 1,
                seconds=gaps.seconds + step,
                longest=longest,
                line=where,
                live=gaps.live or flows,
            )
            return None
        return last

    def _cut(self) -> bool:
        if self.watcher is not None:
            self.watcher.cut()
        return self.sums.cut()

    def _add(self, row: LoggedRow, numbers: NumberReader) -> None:
        columns, roles = self.layout.columns, self.layout.columns.roles
        current, power = row.current, row.power
        if current is not None:
            current = self._signed(current, row.mode)
            if row.voltage is not None:
                power = current * row.voltage
            elif power is not None:
                power = abs(power) if current >= 0 else -abs(power)
        elif power is not None:
            power = self._signed(power, row.mode)

        def read(column: LoggerColumn | None) -> float | None:
            return numbers.read(row.cells, column, row.line) if column is not None else None

        soc = read(roles.get("soc"))
        if soc is not None:
            if roles["soc"].assumed and self.survey.largest_soc <= 0.01:
                soc *= 100  # written as a share of 1, not in per cent
            self.soc[1:] = [soc]
        if self.counters is not None:
            resets = self.counters.add(
                row.line, row.time, {role: read(column) for role, column in roles.items()}, soc
            )
            if resets:
                first = self.gaps.reset_line or row.line
                self.gaps = self.gaps._replace(resets=self.gaps.resets + 1, reset_line=first)
        else:
            self.sums.add(Sample(row.line, row.time, current, row.voltage, power, soc))
        self.spread.add([value for column in columns.cells if (value := read(column)) is not None], row.line)
        temperatures = [value for column in columns.cell_temperatures if (value := read(column)) is not None]
        self.temperature_spread.add(temperatures, row.line)
        temperature = read(roles.get("temperature"))
        if temperature is None and temperatures:
            temperature = sum(temperatures) / len(temperatures)
        self.temperature.add(row.time, temperature)
        self.voltage.add(row.time, row.voltage)
        self.extra.add(row.time, read(roles.get("auxiliary")))
        if self.watcher is not None:
            self.watcher.add(
                RunningSample(row.time, current, power, row.voltage, soc, temperature, *self._so_far())
            )

    def _so_far(self) -> tuple[float | None, float | None, float | None, float | None]:
        """Charge out and in, energy out and in up to here; None where the file has no column for it."""
        sums, counters = self.sums, self.counters
        if counters is not None:
            out, into = counters.total("charge-out"), counters.total("charge-in")
            return out, into, counters.total("energy-out"), counters.total("energy-in")
        charge = (sums.charge_out, sums.charge_in) if sums.has_charge else (None, None)
        return *charge, *((sums.energy_out, sums.energy_in) if sums.has_energy else (None, None))

    def _signed(self, flow: float, mode: str) -> float:
        if self.sign == 2:
            return abs(flow) if mode == "in" else -abs(flow) if mode == "out" else 0.0
        return flow * (self.sign or 1)

    def _finished(self, times: TimeReader) -> Trial:
        sums, counters = self.sums, self.counters
        runs = tuple(counters.runs()) if counters is not None else tuple(sums.runs)
        largest = {run.direction: run for run in runs} if counters is not None else sums.largest
        notes: list[str] = []
        if times.zoned is False and self.gaps.any:
            notes.append(
                "times without a zone: an hour of a clock change would look like a gap or a step back"
            )
        if self.blanks:
            notes.append(f"{self.blanks} rows without a time or a current were passed over")

        charge_out, charge_into, energy_out, energy_into = self._so_far()
        return Trial(
            file=self.file,
            rows=self.survey.rows,
            step=self.survey.step,
            seconds=self.seconds,
            runs=runs,
            discharges=sums.counts["out"] if counters is None else int("out" in largest),
            charges=sums.counts["in"] if counters is None else int("in" in largest),
            out=largest.get("out"),
            into=largest.get("in"),
            charge_out=charge_out,
            charge_in=charge_into,
            energy_out=energy_out,
            energy_in=energy_into,
            half_charge=sums.half_charge,
            half_energy=sums.half_energy,
            auxiliary=self.extra.area / 3600,
            temperature=self.temperature.range(),
            voltage=self.voltage.range(),
            current=self.survey.most if sums.has_charge else None,
            soc=(self.soc[0], self.soc[-1]) if self.soc else None,
            spread=self.spread.most,
            spread_line=self.spread.line,
            temperature_spread=self.temperature_spread.most,
            gaps=self.gaps,
            blanks=self.blanks,
            direction=self.direction if self.flows else "the logger's own counters",
            assumed=self.survey.assumed,
            notes=tuple(notes),
        )

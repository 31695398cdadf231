"""The second of two readings of a file: what flowed, the least and the most, and where the record breaks."""

from __future__ import annotations

from dataclasses import dataclass

from sitelog.files.trials.columns import LoggerColumn
from sitelog.files.trials.counters import EnergyCounters
from sitelog.files.trials.lines import TableLayout
from sitelog.files.trials.results import DataFault, Extent, RecordGaps, Trial, TrialFault
from sitelog.files.trials.rows import LoggedRow, logged_rows
from sitelog.files.trials.sums import Integrator, Sample
from sitelog.files.trials.survey import BRIDGED, GAP_TIMES, REST, FirstPass
from sitelog.files.trials.values import NumberReader, TimeReader
from sitelog.files.trials.watching import RunningSample, Watcher

MOST_FAULTS = 20
"""As many faults of a file's rows are kept; one is enough for a doubt."""


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

    def extent(self) -> Extent | None:
        if not self.count:
            return None
        return Extent(
            self.low, self.area / self.seconds if self.seconds else self.total / self.count, self.high
        )


class _ColumnStatistics:
    """The extents of all columns of one quantity, and in how many rows each says nothing."""

    def __init__(self, columns: tuple[LoggerColumn, ...]) -> None:
        self.columns = columns
        self._each = [_Statistics() for _ in columns]
        self._empty = [0] * len(columns)
        self._first = [0] * len(columns)

    def add(self, line: int, time: float, values: list[float | None]) -> None:
        for at, value in enumerate(values):
            self._each[at].add(time, value)
            if value is None:
                self._empty[at] += 1
                self._first[at] = self._first[at] or line

    def extent(self) -> Extent | None:
        """The least and the greatest of all columns, and the mean of their means."""
        extents = [found for each in self._each if (found := each.extent()) is not None]
        if not extents:
            return None
        return Extent(
            min(extent.low for extent in extents),
            sum(extent.mean for extent in extents) / len(extents),
            max(extent.high for extent in extents),
        )

    def empty(self, role: str, rows: int) -> list[tuple[str, str, float, int]]:
        """Each column that says nothing in some rows: role, name, share of the rows, the first such line."""
        return [
            (role, column.name, self._empty[at] / rows, self._first[at])
            for at, column in enumerate(self.columns)
            if self._empty[at]
        ]


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
        has_charge = "current" in roles
        if self.counters is not None:
            has_energy, has_charge = self.counters.counts("energy"), self.counters.counts("charge")
        self.sums = Integrator(survey.most * REST if self.flows else 0.0, has_charge, has_energy)
        self.longest_step = GAP_TIMES * survey.step
        self.gaps = RecordGaps()
        columns = layout.columns
        self.extra = _Statistics()
        self.temperature = _ColumnStatistics(columns.temperatures)
        self.voltage = _ColumnStatistics(tuple(roles[role] for role in ("voltage",) if role in roles))
        self.cells = _ColumnStatistics(columns.cells)
        self.spread, self.temperature_spread = _CellSpread(), _CellSpread()
        self.soc: list[float] = []
        self.blanks = 0
        self.blank_faults: list[DataFault] = []
        self.seconds = 0.0
        self._counted: float | None = None  # the time of the last row of counters

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
        if self.counters is not None:
            self.counters.finish()
            self._count_resets(self.counters.resets)
        falls = len(self.counters.falls) if self.counters is not None else 0
        if falls * 4 > self.survey.rows:
            message = f"the counters begin again {falls} times in {self.survey.rows} rows"
            return TrialFault(
                self.file,
                self.counters.falls[0] if self.counters else 0,
                message,
                "a table of cycles is no record of a trial",
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
        if step > self.survey.step * BRIDGED and step <= self.longest_step * (1 + 1e-9):
            self.gaps = self.gaps._replace(bridged=self.gaps.bridged + step)
        if step > self.longest_step * (1 + 1e-9):
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
        if self.counters is not None:
            self.counters.cut()
        return self.sums.cut()

    def _count_resets(self, lines: list[int]) -> None:
        if lines:
            first = min(self.gaps.reset_line or lines[0], lines[0])
            self.gaps = self.gaps._replace(resets=self.gaps.resets + len(lines), reset_line=first)

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
            self._count(row, soc, {role: read(column) for role, column in roles.items()})
        else:
            if roles.get("voltage") is not None and current is not None and power is None:
                self._blank(row.line, roles["voltage"].name)
            self.sums.add(Sample(row.line, row.time, current, row.voltage, power, soc))
        cells = [read(column) for column in columns.cells]
        self.cells.add(row.line, row.time, cells)
        self.spread.add([value for value in cells if value is not None], row.line)
        temperatures = [read(column) for column in columns.temperatures]
        of_cells = temperatures[: len(columns.cell_temperatures)]
        apart = of_cells if len(of_cells) > 1 else temperatures
        self.temperature_spread.add([value for value in apart if value is not None], row.line)
        self.temperature.add(row.line, row.time, temperatures)
        if self.voltage.columns:
            self.voltage.add(row.line, row.time, [row.voltage])
        self.extra.add(row.time, read(roles.get("auxiliary")))
        temperature = max((value for value in temperatures if value is not None), default=None)
        if self.watcher is not None:
            self.watcher.add(
                RunningSample(row.time, current, power, row.voltage, soc, temperature, *self._so_far())
            )

    def _count(self, row: LoggedRow, soc: float | None, values: dict[str, float | None]) -> None:
        """One row of counters; what they rose since the row before makes its mean current and power."""
        assert self.counters is not None
        flow = self.counters.add(row.line, row.time, values)
        hours = (row.time - self._counted) / 3600 if self._counted is not None else 0.0
        self._counted = row.time
        # A mean over the step tells that something flowed, and which way; the sums take the rise itself.
        current = (flow.charge_in - flow.charge_out) / hours if hours > 0 and self.sums.has_charge else None
        power = (flow.energy_in - flow.energy_out) / hours if hours > 0 and self.sums.has_energy else None
        self.sums.count(Sample(row.line, row.time, current, row.voltage, power, soc), flow)

    def _blank(self, line: int, name: str) -> None:
        """A row that has a current and no voltage: what energy flowed there is not known."""
        last = self.blank_faults[-1] if self.blank_faults else None
        if last is not None and last.last_line == line - 1:
            self.blank_faults[-1] = last._replace(last_line=line)
        elif len(self.blank_faults) < MOST_FAULTS:
            self.blank_faults.append(DataFault(line, line, f"the column `{name}` is empty"))

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
        faults = [*(counters.faults if counters is not None else ()), *self.blank_faults]
        rows, columns = self.survey.rows, self.layout.columns
        empty = [*self.temperature.empty("temperature", rows), *self.voltage.empty("voltage", rows),
                 *self.cells.empty("cell", rows)]  # fmt: skip
        roles = {
            "sums": counters.columns if counters is not None else self._flow_columns(),
            "temperature": tuple(column.name for column in columns.temperatures),
            "cell": tuple(column.name for column in columns.cells),
            "unused": tuple(column.name for column in columns.unused),
        }
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
            runs=tuple(sums.runs),
            discharges=sums.counts["out"],
            charges=sums.counts["in"],
            out=sums.largest.get("out"),
            into=sums.largest.get("in"),
            charge_out=charge_out,
            charge_in=charge_into,
            energy_out=energy_out,
            energy_in=energy_into,
            half_charge=sums.half_charge,
            half_energy=sums.half_energy,
            auxiliary=self.extra.area / 3600,
            temperature=self.temperature.extent(),
            voltage=self.voltage.extent(),
            current=self.survey.most if self.flows and sums.has_charge else None,
            soc=(self.soc[0], self.soc[-1]) if self.soc else None,
            spread=self.spread.most,
            spread_line=self.spread.line,
            temperature_spread=self.temperature_spread.most,
            gaps=self.gaps,
            blanks=self.blanks,
            direction=self.direction if self.flows else "the logger's own counters",
            assumed=self.survey.assumed,
            notes=tuple(notes),
            method="counters" if counters is not None else "trapezoids",
            faults=tuple(faults[:MOST_FAULTS]),
            empty=tuple(empty),
            columns=tuple(roles.items()),
            days=self.survey.days,
        )

    def _flow_columns(self) -> tuple[str, ...]:
        """The names of the columns that the sums are made of."""
        roles = self.layout.columns.roles
        wanted = ("current", "voltage") if "current" in roles and "voltage" in roles else ("current", "power")
        return tuple(roles[role].name for role in wanted if role in roles)

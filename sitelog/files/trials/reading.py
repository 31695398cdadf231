"""A logger's file → a `Trial`, in two readings: the first finds the step and the sign, the second adds up."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from sitelog.files.trials.columns import Column, Columns
from sitelog.files.trials.counters import Counters
from sitelog.files.trials.lines import BadLineError, Layout, find_layout, rows
from sitelog.files.trials.results import Gaps, Range, Trial, Trouble
from sitelog.files.trials.sums import Point, Sums
from sitelog.files.trials.survey import GAP_TIMES, REST, Survey, mode_of
from sitelog.files.trials.values import Numbers, Times
from sitelog.files.trials.watching import Moment, Watcher


def read_trial(file: str, what: str = "", watcher: Watcher | None = None) -> Trial | Trouble:
    """Read a logger's file; `what` is what the log calls the trial (`discharge`, `charge`, ...).

    Never raises for what stands in the file, and holds no more than a line of it at a time.
    """
    try:
        if os.path.exists(file) and not os.path.isfile(file):
            return Trouble(file, 0, "is no plain file")
        layout = find_layout(file)
        if isinstance(layout, Trouble):
            return layout
        survey, assumed = _survey(file, layout)
        if survey.rows < 2:
            return Trouble(file, layout.first_line, "there are not two rows below the header")
        if watcher is not None:
            watcher.begin(survey.rows)
        return _Reading(file, layout, survey, assumed, what, watcher).trial()
    except FileNotFoundError:
        return Trouble(file, 0, "there is no such file", absent=True)
    except OSError as error:
        return Trouble(file, 0, f"cannot be read: {error.strerror or 'an error of the disk'}")
    except BadLineError as bad:
        return bad.trouble


class _Row(NamedTuple):
    """One row in base units; `line` 0 stands for a header written again."""

    line: int
    cells: list[str]
    time: float
    current: float | None
    voltage: float | None
    power: float | None
    mode: str


def _needed(columns: Columns) -> list[Column]:
    roles = columns.roles
    return [roles[role] for role in ("current", "power") if role in roles][:1]


def _rows(file: str, layout: Layout, numbers: Numbers, times: Times) -> Iterator[_Row | None]:
    """Every row; None for one in which the time or the current is blank. So is a last line cut short."""
    roles = layout.columns.roles
    current, voltage, power, mode = (roles.get(role) for role in ("current", "voltage", "power", "mode"))
    needed = _needed(layout.columns)
    last_needed = max(column.at for column in (layout.columns.time, *needed))
    short: int | None = None
    for line, cells in rows(file, layout):
        if short is not None:
            message = f"the row has fewer cells than the header has columns ({len(layout.header)})"
            raise BadLineError(Trouble(file, short, message))
        if cells is None:
            yield _Row(0, [], 0.0, None, None, None, "")
            continue
        if last_needed >= len(cells):
            short = line
            yield None
            continue
        time = times.read(cells, line)
        flow = numbers.read(cells, needed[0], line) if needed else 0.0
        if time is None or flow is None:
            yield None
            continue
        yield _Row(
            line,
            cells,
            time,
            flow if current is not None else None,
            numbers.read(cells, voltage, line) if voltage is not None else None,
            numbers.read(cells, power, line) if power is not None else None,
            mode_of(cells[mode.at]) if mode is not None and mode.at < len(cells) else "",
        )


def _survey(file: str, layout: Layout) -> tuple[Survey, tuple[str, ...]]:
    """The first reading, and the units that the header leaves unsaid."""
    survey = Survey()
    numbers = Numbers(file, layout.delimiter)
    columns = layout.columns
    times = Times(file, columns.time, columns.date, numbers)
    soc = columns.roles.get("soc")
    stamps = Times(file, columns.stamp, None, numbers) if columns.stamp is not None else None
    first: tuple[float, float] | None = None
    apart = (0.0, 0.0)
    for row in _rows(file, layout, numbers, times):
        if row is None:
            continue
        if not row.line:
            survey.begin_again()
            continue
        survey.add(row.time, row.current if row.current is not None else row.power, row.voltage, row.mode)
        if stamps is not None and (stamp := stamps.read(row.cells, row.line)) is not None:
            first = first or (row.time, stamp)
            apart = (row.time - first[0], stamp - first[1])
        if soc is not None and (level := numbers.read(row.cells, soc, row.line)) is not None:
            survey.largest_soc = max(survey.largest_soc, level)
    used = [
        column
        for column in (*columns.roles.values(), *columns.cells)
        if column.role not in ("soc", "mode", "temperature")
    ]
    if "current" in columns.roles and "voltage" in columns.roles:
        used = [
            column for column in used if column.role in ("current", "voltage", "cell-voltage")
        ]  # not the power
    units = {"current": "A", "voltage": "V", "power": "W", "energy": "Wh", "charge": "Ah"}
    unsaid = [f"`{one.name}` in {units[one.kind]}" for one in used if one.assumed and one.kind in units]
    if times.as_seconds and not (apart[0] and abs(apart[0] - apart[1]) <= 2 + apart[1] / 1000):
        unsaid.insert(0, f"`{columns.time.name}` in s")
    return survey, tuple(dict.fromkeys(unsaid))


@dataclass(slots=True)
class _Spread:
    """The largest distance between cells of one row, and where."""

    most: float | None = None
    line: int = 0

    def add(self, values: list[float], line: int) -> None:
        if len(values) > 1:
            apart = max(values) - min(values)
            if self.most is None or apart > self.most:
                self.most, self.line = apart, line


@dataclass(slots=True)
class _Course:
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

    def range(self) -> Range | None:
        if not self.count:
            return None
        return Range(
            self.low, self.area / self.seconds if self.seconds else self.total / self.count, self.high
        )


class _Reading:
    """The second reading of one file."""

    def __init__(
        self,
        file: str,
        layout: Layout,
        survey: Survey,
        assumed: tuple[str, ...],
        what: str,
        watcher: Watcher | None,
    ) -> None:
        self.watcher = watcher
        self.file, self.layout, self.survey, self.assumed = file, layout, survey, assumed
        roles = layout.columns.roles
        self.sign, self.direction = survey.sign(what)
        self.flows = "current" in roles or "power" in roles
        self.counters = Counters(roles, what) if not self.flows else None
        has_energy = ("current" in roles and "voltage" in roles) or "power" in roles
        self.sums = Sums(survey.most * REST, "current" in roles, has_energy)
        self.longest_step = GAP_TIMES * survey.step
        self.gaps = Gaps()
        self.temperature, self.voltage, self.extra = _Course(), _Course(), _Course()
        self.spread, self.temperature_spread = _Spread(), _Spread()
        self.soc: list[float] = []
        self.blanks = 0
        self.seconds = 0.0

    def trial(self) -> Trial | Trouble:
        """Add up every row."""
        if self.flows and not self.sign and self.survey.most:
            help = "log the voltage too, or a column that says charge or discharge"
            return Trouble(self.file, self.layout.first_line - 1, self.direction, help)
        numbers = Numbers(self.file, self.layout.delimiter)
        columns = self.layout.columns
        times = Times(self.file, columns.time, columns.date, numbers)
        last: float | None = None
        for row in _rows(self.file, self.layout, numbers, times):
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
            return Trouble(
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

    def _add(self, row: _Row, numbers: Numbers) -> None:
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

        def read(column: Column | None) -> float | None:
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
            self.sums.add(Point(row.line, row.time, current, row.voltage, power, soc))
        self.spread.add([one for column in columns.cells if (one := read(column)) is not None], row.line)
        warm = [one for column in columns.cell_temperatures if (one := read(column)) is not None]
        self.temperature_spread.add(warm, row.line)
        temperature = read(roles.get("temperature"))
        if temperature is None and warm:
            temperature = sum(warm) / len(warm)
        self.temperature.add(row.time, temperature)
        self.voltage.add(row.time, row.voltage)
        self.extra.add(row.time, read(roles.get("auxiliary")))
        if self.watcher is not None:
            self.watcher.add(Moment(row.time, current, power, row.voltage, soc, temperature, *self._so_far()))

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

    def _finished(self, times: Times) -> Trial:
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
            assumed=self.assumed,
            notes=tuple(notes),
        )

"""The rows of a logger's file with what both readings need of them: time, current, voltage, power, mode."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from sitelog.files.trials.lines import BadLineError, TableLayout, rows
from sitelog.files.trials.results import TrialFault
from sitelog.files.trials.survey import mode_of
from sitelog.files.trials.values import NumberReader, TimeReader


class LoggedRow(NamedTuple):
    """One row in base units; `line` 0 stands for a header written again."""

    line: int
    cells: list[str]
    time: float
    current: float | None
    voltage: float | None
    power: float | None
    mode: str


def logged_rows(layout: TableLayout, numbers: NumberReader, times: TimeReader) -> Iterator[LoggedRow | None]:
    """Every row of a file, its values in base units; charging is not yet told from discharging.

    None stands for a row in which the time, or the current (the power where there is none), is blank; so is
    a last line cut short. Raises OSError and BadLineError.
    """
    roles = layout.columns.roles
    current, voltage, power, mode = (roles.get(role) for role in ("current", "voltage", "power", "mode"))
    needed = [column for column in (current, power) if column is not None][:1]
    last_needed = max(column.at for column in (layout.columns.time, *needed))
    short: int | None = None
    for line, cells in rows(layout):
        if short is not None:
            message = f"the row has fewer cells than the header has columns ({len(layout.header)})"
            raise BadLineError(TrialFault(layout.file, short, message))
        if cells is None:
            yield LoggedRow(0, [], 0.0, None, None, None, "")
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
        yield LoggedRow(
            line,
            cells,
            time,
            flow if current is not None else None,
            numbers.read(cells, voltage, line) if voltage is not None else None,
            numbers.read(cells, power, line) if power is not None else None,
            mode_of(cells[mode.at]) if mode is not None and mode.at < len(cells) else "",
        )

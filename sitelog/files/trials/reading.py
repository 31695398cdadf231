"""A logger's file → a `Trial`, in two readings: the first finds the step and the sign, the second adds up."""

from __future__ import annotations

import os

from sitelog.files.trials.lines import BadLineError, TableLayout, find_layout
from sitelog.files.trials.results import Trial, TrialFault
from sitelog.files.trials.rows import logged_rows
from sitelog.files.trials.second_pass import SecondPass
from sitelog.files.trials.survey import FirstPass
from sitelog.files.trials.values import NumberReader, TimeReader, day_of
from sitelog.files.trials.watching import Watcher


def read_trial(file: str, what: str = "", watcher: Watcher | None = None) -> Trial | TrialFault:
    """Read a logger's file; `what` is what the log calls the trial (`discharge`, `charge`, ...).

    Never raises for what stands in the file, and holds no more than a line of it at a time.
    """
    try:
        if os.path.exists(file) and not os.path.isfile(file):
            return TrialFault(file, 0, "is no plain file")
        layout = find_layout(file)
        if isinstance(layout, TrialFault):
            return layout
        survey = _first_pass(layout)
        if survey.rows < 2:
            return TrialFault(file, layout.first_line, "there are not two rows below the header")
        if watcher is not None:
            watcher.begin(survey.rows)
        return SecondPass(layout, survey, what, watcher).trial()
    except FileNotFoundError:
        return TrialFault(file, 0, "there is no such file", absent=True)
    except OSError as error:
        return TrialFault(file, 0, f"cannot be read: {error.strerror or 'an error of the disk'}")
    except BadLineError as bad:
        return bad.trouble


def _first_pass(layout: TableLayout) -> FirstPass:
    """What the first of the two readings finds. Raises OSError and BadLineError."""
    survey = FirstPass()
    numbers = NumberReader(layout.file, layout.delimiter)
    columns = layout.columns
    times = TimeReader(columns.time, columns.date, numbers)
    soc = columns.roles.get("soc")
    stamps = TimeReader(columns.stamp, None, numbers) if columns.stamp is not None else None
    first: tuple[float, float] | None = None
    apart = (0.0, 0.0)
    dated = stamps or times
    moments: list[float] = []
    for row in logged_rows(layout, numbers, times):
        if row is None:
            continue
        if not row.line:
            survey.begin_again()
            continue
        survey.add(row.time, row.current if row.current is not None else row.power, row.voltage, row.mode)
        if stamps is not None and (stamp := stamps.read(row.cells, row.line)) is not None:
            first = first or (row.time, stamp)
            apart = (row.time - first[0], stamp - first[1])
        moment = row.time if stamps is None else first[1] + apart[1] if first is not None else None
        if moment is not None and dated.dated:
            moments[1:] = [moment]
        if soc is not None and (level := numbers.read(row.cells, soc, row.line)) is not None:
            survey.largest_soc = max(survey.largest_soc, level)
    if moments:
        survey.days = day_of(moments[0]), day_of(moments[-1])
    used = [
        column
        for column in (*columns.roles.values(), *columns.cells)
        if column.role not in ("soc", "mode", "temperature")
    ]
    if "current" in columns.roles and "voltage" in columns.roles:
        # The power is worked out from the two, so the unit of its own column does not matter.
        used = [column for column in used if column.role in ("current", "voltage", "cell-voltage")]
    units = {"current": "A", "voltage": "V", "power": "W", "energy": "Wh", "charge": "Ah"}
    unsaid = [
        f"`{column.name}` in {units[column.kind]}"
        for column in used
        if column.assumed and column.kind in units
    ]
    if times.as_seconds and not (apart[0] and abs(apart[0] - apart[1]) <= 2 + apart[1] / 1000):
        unsaid.insert(0, f"`{columns.time.name}` in s")
    survey.assumed = tuple(dict.fromkeys(unsaid))
    return survey

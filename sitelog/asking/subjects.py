"""What can be asked about: each subject with the columns that its rows can fill, as data.

`question` compiles questions against these, `store` makes its tables from them, and `rows` makes the
rows (a tuple in the order of `Subject.all_columns`).
"""

from sitelog.asking.columns import (
    CALIBRATION,
    COMMON,
    LIMITS,
    PLACED,
    SITE,
    TOOL,
    VERDICT,
    WORK,
    WRITTEN,
    Column,
    common,
    torque_columns,
)
from sitelog.base.frozen import NamedTuple

__all__ = ["COMMON", "HISTORIES", "MAIN_COLUMNS", "SUBJECTS", "Column", "Subject"]


class Subject(NamedTuple):
    """A subject of questions: its name, its own columns, and those that a table shows unasked.

    `table` is where its rows are stored, if not under its name. `common` are the columns that it shares
    with other subjects: only those that some row of it can fill, for a question about another is an error.
    """

    name: str
    columns: tuple[Column, ...]
    shown: tuple[str, ...]
    table: str = ""
    common: tuple[Column, ...] = COMMON

    @property
    def stored(self) -> str:
        """The name of its table."""
        return self.table or self.name

    @property
    def all_columns(self) -> tuple[Column, ...]:
        """The columns it shares with others, then its own."""
        return (*self.common, *self.columns)


SUBJECTS: dict[str, Subject] = {
    subject.name: subject
    for subject in (
        Subject(
            "joints",
            torque_columns(
                Column("due", "day", "the day it is due again"),
                Column("mode", "text", "final (measured) or click (the setting of a click tool)"),
            ),
            ("site", "place", "value", "low", "high", "tool", "by", "day", "verdict", "reasons"),
            common=common(*WORK, *PLACED, *TOOL, *CALIBRATION),
        ),
        Subject(
            "torques",
            torque_columns(Column("mode", "text", "final, pre, click, held or moved")),
            ("site", "place", "value", "mode", "tool", "by", "day", "time", "verdict"),
            common=common(*WORK, *PLACED, *TOOL, *CALIBRATION),
        ),
        Subject(
            "readings",
            (
                Column("what", "text", "what was read"),
                Column("points", "text", "where, or between what"),
                Column("value", "quantity", "the reading"),
                Column("at", "text", "the condition as written, such as the test voltage"),
                Column("condition", "text", "the condition it counts for"),
                *LIMITS,
                Column("previous", "quantity", "the reading before this one"),
                Column(
                    "corrected",
                    "quantity",
                    "insulation brought to 20 °C, halving every 10 K (common practice, no source)",
                    "resistance",
                ),
                Column(
                    "corrected_previous",
                    "quantity",
                    "the insulation before this one, at any temperature, brought to 20 °C too",
                    "resistance",
                ),
                Column("previous_day", "day", "the day of the reading that stands before this one"),
                Column("displayed", "text", "the equipment that displayed it, where one did"),
                Column("answer", "text", "the answer where it is a word"),
                Column("due", "day", "the day it is due again"),
            ),
            ("site", "what", "points", "value", "at", "low", "high", "tool", "day", "verdict", "reasons"),
            common=common(*WORK, *PLACED, *TOOL, *CALIBRATION),
        ),
        Subject(
            "parts",
            (
                Column("part", "text", "the place"),
                Column("serial", "text", "the serial that sits there now"),
                Column("since", "day", "the day it came there"),
                Column("until", "day", "the day it left, where it did"),
                Column("moved_from", "text", "where it was before"),
                Column("moved_to", "text", "where it went"),
                Column("previous", "text", "the serial that was there before"),
                Column("registered", "text", "the reference of its registration"),
            ),
            ("site", "part", "serial", "since", "until", "previous", "verdict"),
            common=common(*WORK, *PLACED, *TOOL),
        ),
        Subject(
            "holes",
            (
                Column("place", "text", "the hole"),
                Column("diameter", "quantity", "its diameter", "length"),
                Column("depth", "quantity", "its depth", "length"),
                Column("diameter_low", "quantity", "lower limit of the diameter", "length"),
                Column("diameter_high", "quantity", "upper limit of the diameter", "length"),
                Column("depth_low", "quantity", "lower limit of the depth", "length"),
                Column("depth_high", "quantity", "upper limit of the depth", "length"),
            ),
            ("site", "place", "diameter", "depth", "day", "verdict", "reasons"),
            common=common(*WORK, *PLACED, *TOOL),
        ),
        Subject(
            "looks",
            (
                Column("what", "text", "what was looked at"),
                Column("place", "text", "where"),
                Column("value", "text", "the answer"),
                Column("wanted", "text", "the answer the sheet wants"),
            ),
            ("site", "what", "place", "value", "wanted", "by", "day", "verdict", "reasons"),
            common=common(*WORK, *PLACED, *TOOL),
        ),
        Subject(
            "cables",
            (
                Column("place", "text", "from where to where"),
                Column("size", "quantity", "its cross-section", "area"),
                Column("metal", "text", "copper or aluminium"),
                Column("length", "quantity", "its length, one way", "length"),
                Column("current", "quantity", "the current it carries", "current"),
                Column("voltage", "quantity", "the voltage of the system", "voltage"),
                Column("system", "text", "dc, 1ph or 3ph"),
                Column("drop", "ratio", "voltage lost as a share of the system's, computed"),
                Column("drop_volts", "quantity", "voltage lost, computed", "voltage"),
                Column("loss", "quantity", "heat in its conductors, computed", "power"),
                Column("resistance", "quantity", "resistance of one conductor, computed", "resistance"),
                Column("temperature", "quantity", "conductor temperature stated, else taken", "temperature"),
                Column("capacity", "quantity", "the current it may carry", "current"),
                Column("fuse", "quantity", "the fuse or breaker in front of it", "current"),
                Column("adiabatic", "quantity", "the smallest size that stands its fault, computed", "area"),
                Column("margin", "ratio", "distance to the nearest limit as a share of it"),
                Column("basis", "text", "what the computed figures rest on"),
            ),
            ("site", "place", "size", "length", "current", "drop", "capacity", "fuse", "verdict", "reasons"),
            common=common(*WORK, *PLACED),
        ),
        Subject(
            "series",
            (
                Column("what", "text", "what the trial is called"),
                Column("trial", "text", "the logger's file"),
                Column("energy", "quantity", "energy of its discharge, or its charge, as logged", "energy"),
                Column("charge", "quantity", "charge of its discharge, or its charge, as logged", "charge"),
                Column(
                    "capacity",
                    "quantity",
                    "the energy scaled to what the sheet asks, else to 100 %",
                    "energy",
                ),
                Column("soc_start", "ratio", "state of charge at the start of the run"),
                Column("soc_stop", "ratio", "state of charge at its end"),
                Column("efficiency", "ratio", "energy out over energy in"),
                Column("coulombic", "ratio", "charge out over charge in"),
                Column("temperature", "quantity", "mean temperature over time", "temperature"),
                Column("voltage_start", "quantity", "voltage before the run", "voltage"),
                Column("voltage_stop", "quantity", "voltage at its end, under current", "voltage"),
                Column("spread", "quantity", "largest distance between cells or modules", "voltage"),
                Column("duration", "quantity", "time under current in the run", "time"),
                Column("margin", "ratio", "distance to the nearest limit as a share of it"),
                Column("runs", "number", "discharges and charges in the file"),
                Column("gaps", "number", "gaps, and places where the record begins again"),
                Column("basis", "text", "what the figures rest on"),
            ),
            (
                "site",
                "what",
                "trial",
                "energy",
                "charge",
                "capacity",
                "efficiency",
                "gaps",
                "verdict",
                "reasons",
            ),
            common=common(*WORK, *TOOL),
        ),
        Subject(
            "steps",
            (
                Column("step", "text", "the step"),
                Column("waited", "quantity", "the wait as written", "time"),
                Column("wanted", "quantity", "the wait the sheet asks for", "time"),
                Column("before", "text", "what it has to come before"),
                Column("after", "text", "what it has to come after"),
            ),
            ("site", "step", "day", "time", "waited", "wanted", "after", "verdict", "reasons"),
            common=common(*WORK, *TOOL),
        ),
        Subject(
            "settings",
            (
                Column("what", "text", "the setting"),
                Column("place", "text", "of what"),
                Column("value", "text", "the value as written"),
                Column("wanted", "text", "what the sheet asks for"),
            ),
            ("site", "what", "place", "value", "wanted", "day", "verdict", "reasons"),
            common=common(*WORK, *PLACED, *TOOL),
        ),
        Subject(
            "defects",
            (
                Column("defect", "text", "its name"),
                Column("severity", "text", "minor, major or danger"),
                Column("place", "text", "of what"),
                Column("about", "text", "what is wrong, as written"),
                Column("opened", "day", "the day it was found"),
                Column("reopened", "day", "the day it was found again after it had been cleared"),
                Column("cleared", "day", "the day it was cleared"),
                Column("age", "number", "days it has been, or was, open, the last time"),
            ),
            ("site", "defect", "severity", "place", "about", "opened", "cleared", "age"),
            common=common(*WRITTEN, *VERDICT),
        ),
        Subject(
            "tools",
            (
                Column("kind", "text", "what sort of tool"),
                Column("range", "text", "its range"),
                Column("serial", "text", "its serial"),
                Column("calibrated", "day", "the day of its newest calibration"),
                Column("due", "day", "the day the next one is due"),
                Column("found", "text", "what the newest calibration found"),
                Column("uses", "number", "values it gave"),
                Column("cycles", "number", "values it gave since its newest calibration"),
            ),
            ("tool", "kit", "kind", "range", "cert", "calibrated", "due", "uses", "verdict"),
            common=common(*TOOL, "kit", "cert", "day", *VERDICT),
        ),
        Subject(
            "stages",
            (
                Column("stage", "text", "the stage"),
                Column("asked", "number", "things asked in it"),
                Column("open", "number", "of these still open"),
                Column("waits_for", "text", "what has to come first and is open"),
            ),
            ("site", "stage", "asked", "open", "verdict", "waits_for"),
            common=common(*SITE, *VERDICT),
        ),
        Subject(
            "signatures",
            (
                Column("who", "text", "who signed"),
                Column("purpose", "text", "for what"),
                Column("holds", "text", "yes, no (changed since), or no digest"),
                Column("because", "text", "the reason given with it"),
            ),
            ("site", "who", "purpose", "day", "time", "holds", "because"),
            common=common(*WRITTEN, *VERDICT),
        ),
        Subject(
            "visits",
            (
                Column("purpose", "text", "install, service, removal"),
                Column("opened", "day", "its first day"),
                Column("closed", "day", "the day it was signed for its purpose"),
                Column("signed_by", "text", "who signed it"),
            ),
            ("site", "purpose", "opened", "closed", "signed_by"),
            common=common(*WRITTEN),
        ),
        Subject(
            "photos",
            (
                Column("photo", "text", "its file"),
                Column("of", "text", "what it shows"),
            ),
            ("site", "of", "photo", "day", "verdict"),
            common=common(*WORK, *TOOL),
        ),
        Subject(
            "entries",
            (
                Column("kind", "text", "the entry's first word"),
                Column("entry", "text", "the line as written"),
            ),
            ("site", "day", "time", "by", "kind", "entry"),
            common=common(*WRITTEN, *TOOL),
        ),
        Subject(
            "sites",
            (
                Column("sheets", "text", "its sheets"),
                Column("joints", "number", "joints asked for"),
                Column("joints_under", "number", "joints under torque"),
                Column("readings", "number", "readings asked for"),
                Column("readings_failing", "number", "readings that fail"),
                Column("missing", "number", "things still missing"),
                Column("defects_open", "number", "open defects"),
                Column("errors", "number", "error findings"),
                Column("warnings", "number", "warning findings"),
                Column("ready", "flag", "1 where nothing is missing by these sheets"),
                Column(
                    "state",
                    "text",
                    "complete, with-reservations, not-complete or taken-down",
                ),
                Column("last_signed", "day", "the day of the newest signature"),
            ),
            (
                "site",
                "sheets",
                "joints",
                "joints_under",
                "readings",
                "readings_failing",
                "defects_open",
                "missing",
                "errors",
                "warnings",
                "ready",
            ),
            common=common(*SITE, "sheet", "day", *VERDICT),
        ),
    )
}

# What `history` shows of each subject that has one: every time it was written, and the one before.
# For each the column whose earlier value is its `previous`.
MAIN_COLUMNS = {
    "joints": "value",
    "readings": "value",
    "parts": "serial",
    "holes": "depth",
    "looks": "value",
    "settings": "value",
    "cables": "size",
    "steps": "day",
    "series": "trial",
    "photos": "photo",
}


def _history(subject: Subject) -> Subject:
    main = next(column for column in subject.all_columns if column.name == MAIN_COLUMNS[subject.name])
    columns = subject.columns
    if not any(column.name == "previous" for column in columns):
        columns = (*columns, main._replace(name="previous", meaning=f"the time before: {main.meaning}"))
    at = subject.shown.index(main.name) + 1
    unasked = [name for name in subject.shown if name != "previous"]
    shown = (*unasked[:at], "previous", *unasked[at:])
    return subject._replace(columns=columns, shown=shown, table=f"{subject.name}_history")


HISTORIES: dict[str, Subject] = {name: _history(SUBJECTS[name]) for name in MAIN_COLUMNS}

"""The columns of subjects: what a column is, and the groups of them that several subjects share."""

from sitelog.base.frozen import NamedTuple


class Column(NamedTuple):
    """One field of a subject.

    `type` is one of `text`, `number`, `quantity` (a `Quantity` or None), `ratio` (a float, shown in
    per cent), `day` (`YYYY-MM-DD` or None), `time` (`HH:MM[:SS]` or None) and `flag` (0 or 1).
    `kind` is the quantity kind where every row has the same one, e.g. `torque`.
    A `hidden` column serves the machinery and is never shown.
    """

    name: str
    type: str
    meaning: str
    kind: str = ""
    hidden: bool = False


COMMON: tuple[Column, ...] = (
    Column("site", "text", "the site's name"),
    Column("sheet", "text", "the sheet that asks"),
    Column("visit", "text", "the visit it was written in: install, service, removal"),
    Column("day", "day", "the day it was written for"),
    Column("time", "time", "the time of day"),
    Column("by", "text", "who did it"),
    Column("tool", "text", "the tool it was done or measured with"),
    Column("kit", "text", "the kit the tool belongs to"),
    Column("cert", "text", "the certificate of the tool's calibration in force that day"),
    Column("remark", "text", "the entry's remark"),
    Column("verdict", "text", "the worst of the reasons"),
    Column("reasons", "text", "every reason, worst first"),
    Column("source", "text", "where the limit comes from"),
    Column("file", "text", "the file it stands in"),
    Column("line", "number", "its line there"),
    # For the machinery: the line as written, every state as ` under unsigned `, and
    # what the calibration in force on that day says (what `tool.due`, `tool.cert` … mean on a result).
    Column("text", "text", "the line as written", hidden=True),
    Column("states", "text", "verdicts and states, each between blanks", hidden=True),
    Column("tool_due", "day", "due date of the calibration in force", hidden=True),
    Column("tool_cert", "text", "its certificate", hidden=True),
    Column("tool_calibrated", "day", "its day", hidden=True),
    Column("tool_found", "text", "what it found", hidden=True),
    # Each between line feeds, in small letters: `in dc-neg/PE` finds `dc-neg/ground`.
    Column("same", "text", "the place as the sheet lets it be called too", hidden=True),
)
"""Every column that has one meaning in all subjects, in the order in which all of them list it."""

# Groups of them. Each subject names the groups that its rows can fill.
ROW = ("file", "line", "text", "states")  # every subject has these: a row stands in a file
SITE = ("site",)
WHEN = ("visit", "day", "time")
WHO = ("by",)
TOOL = ("tool",)
CALIBRATION = (
    "kit",
    "cert",
    "tool_due",
    "tool_cert",
    "tool_calibrated",
    "tool_found",
)  # of a value that is traced to a calibration
REMARK = ("remark",)
VERDICT = ("verdict",)
PLACED = ("same",)  # of what has a place that a sheet may call by several names
REQUIREMENT = ("sheet", "reasons", "source")  # of what a sheet asks for

WRITTEN = (*SITE, *WHEN, *WHO, *REMARK)  # of what an entry says
WORK = (*WRITTEN, *VERDICT, *REQUIREMENT)  # of an entry held against a sheet


def common(*names: str) -> tuple[Column, ...]:
    """The common columns with these names and those of `ROW`, in the order of `COMMON`.

    Raises `KeyError` where a name is none of a common column.
    """
    wanted = {*ROW, *names}
    if unknown := wanted - {column.name for column in COMMON}:
        raise KeyError(f"no common column is called {', '.join(sorted(unknown))}")
    return tuple(column for column in COMMON if column.name in wanted)


LIMITS = (
    Column("low", "quantity", "the lower limit"),
    Column("high", "quantity", "the upper limit"),
    Column("margin", "ratio", "distance to the nearer limit as a share of the tolerance"),
    Column("probability", "ratio", "probability that the true value lies within the limits"),
    Column("uncertainty", "ratio", "expanded uncertainty of the tool, k = 2, as a share of the value"),
)
"""The columns of a value that is held against limits."""


def torque_columns(*more: Column) -> tuple[Column, ...]:
    """The columns of a tightening, and some more."""
    limits = (Column("target", "quantity", "the value asked for"), *LIMITS)
    return (
        Column("place", "text", "the joint"),
        Column("value", "quantity", "the torque", "torque"),
        Column("unit", "text", "the unit it was written in"),
        *(column._replace(kind="torque") if column.type == "quantity" else column for column in limits),
        Column("final", "flag", "1 where it is a final tightening"),
        Column("reworks", "number", "how often a final tightening was done again"),
        Column("previous", "quantity", "the final torque before this one", "torque"),
        *more,
    )

"""The cells that several subjects share: file and line, who and when, the tool, the verdict in words."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from sitelog.asking.subjects import HISTORIES, SUBJECTS
from sitelog.base.verdicts import Reason
from sitelog.judging.judged import Site
from sitelog.judging.reliance import Instrument
from sitelog.judging.results import Result
from sitelog.judging.site import LogEntry, Observation
from sitelog.judging.tools import instrument_of
from sitelog.language.kinds.tool import Calibration, Point
from sitelog.notation.moments import Clock
from sitelog.notation.quantities import Quantity, format_quantity

RowTuple = tuple[object, ...]
Cells = dict[str, object]


_NAMES: dict[str, dict[str, None]] = {
    subject.stored: dict.fromkeys(column.name for column in subject.all_columns)
    for subject in (*SUBJECTS.values(), *HISTORIES.values())
}


def row(table: str, cells: Cells) -> RowTuple:
    """The cells as a row of a table such as `joints` or `joints_history`; a column without a cell is None.

    Raises `KeyError` for a cell that is none of the table's columns.
    """
    names = _NAMES[table]
    if not cells.keys() <= names.keys():
        raise KeyError(f"{table} have no column {', '.join(sorted(cells.keys() - names.keys()))}")
    return tuple(map(cells.get, names))


day_text = lru_cache(maxsize=4096)(date.isoformat)
"""A day as rows have it; a site has few, each in many rows."""


@lru_cache(maxsize=4096)
def clock_text(clock: Clock) -> str:
    """A time of day as rows have it."""
    return str(clock)


def of_observation(site: Site, obs: Observation | None) -> Cells:
    """What an entry says of an observation but for its tool; without an observation only the site."""
    if obs is None:
        return {"site": site.name}
    head, moment = obs.record.head, obs.moment
    entry = head.entry
    return {
        "site": site.name,
        "visit": site.log.visits[moment.visit].purpose,
        "day": day_text(moment.day) if moment.day is not None else None,
        "time": clock_text(moment.clock) if moment.clock is not None else None,
        "by": obs.by or None,
        "remark": entry.remark or None,
        "file": head.file,
        "line": head.line,
        "text": entry.text,
    }


def spellings_of(site: Site, place: str) -> str | None:
    """The other names that a sheet has for a place, as the hidden column `same` has them, or None."""
    others = site.case.names.spellings(place)
    return "\n" + "\n".join(others) + "\n" if others else None


def tool_of(obs: Observation | None) -> str | None:
    """The tool that an entry names."""
    return (obs.record.head.tool or None) if obs is not None else None


def of_instrument(obs: Observation | None, instrument: Instrument) -> Cells:
    """The tool that measured a value, with its kit and the calibration in force on that day."""
    tool, calibration = instrument.tool, instrument.calibration
    return {
        "tool": instrument.name or tool_of(obs),
        "kit": tool.kit if tool is not None else None,
        "cert": instrument.cert or None,
        "tool_due": day_text(instrument.due) if instrument.due is not None else None,
        "tool_cert": instrument.cert or None,
        "tool_calibrated": day_text(calibration.day) if calibration is not None else None,
        "tool_found": found_text(calibration) if calibration is not None else None,
    }


def found_text(calibration: Calibration) -> str | None:
    """What a calibration found, and how it left the tool, each point as a sentence."""
    as_left = [f"left: {text}" for text in map(_point_text, calibration.left) if text]
    return "; ".join([*filter(None, map(_point_text, calibration.found)), *as_left]) or None


def _point_text(point: Point) -> str:
    function = f"{point.function}: " if point.function else ""
    if point.error is not None:
        return f"{function}{point.error * 100:+.1f} %"
    if point.true is not None and point.shown is not None:
        gave, showed = format_quantity(point.true), format_quantity(point.shown)
        return f"{function}it gave {gave} where it showed {showed}"
    return ""


def states_of(
    site: Site, verdict: str, reasons: tuple[Reason, ...], obs: Observation | None, *more: str
) -> str:
    """The verdict and other states as the hidden column `states` has them.

    Of the reasons only the worst is a state, as it is the verdict: what is under torque and untraceable is
    `under`. Every reason stands in the column `reasons`.
    """
    words = [verdict] if verdict else []
    is_out = any(reason.slug == "tool-out-of-calibration" for reason in reasons)
    for word in more:
        if word not in words:
            words.append(word)
    if is_out:
        words.append("out-of-calibration")
    if obs is not None:
        words.append("signed" if (obs.file, obs.line) in site.signed else "unsigned")
    return f" {' '.join(words)} "


def of_result(site: Site, result: Result) -> Cells:
    """The cells that every subject of work has from a result: when, who, the requirement, the verdict."""
    requirement, obs = result.requirement, result.observation
    cells = of_observation(site, obs)
    if requirement is not None:
        cells["sheet"] = requirement.sheet
        cells["source"] = requirement.source or None
        cells["visit"] = cells.get("visit") or site.log.visits[result.visit].purpose
        if obs is None:  # what is missing stands at the line that asks it
            cells |= {"file": requirement.file, "line": requirement.line, "text": requirement.text}
    due = site.due.get(id(result))
    more = ["final"] if obs is not None and obs.live else []
    if due is not None and due <= site.today:
        more.append("due")
    cells["verdict"] = result.verdict
    cells["reasons"] = in_words(result.reasons)
    cells["states"] = states_of(site, result.verdict, result.reasons, obs, *more)
    return cells


def of_work(site: Site, result: Result) -> Cells:
    """The cells of a result whose entry may name a tool."""
    cells = of_result(site, result)
    cells["tool"] = tool_of(result.observation)
    return cells


def of_measured(site: Site, result: Result) -> Cells:
    """The cells of a result with a measured value: its tool, its limits, and when it is due again."""
    obs, tool = result.observation, result.instrument
    if not tool.name and obs is not None and _is_measured(obs) and result.kind != "spread":
        tool = instrument_of(
            obs, site.box, result.requirement
        )  # nothing judges a pre-tightening, but a tool made it
    due = site.due.get(id(result))
    cells = of_result(site, result)
    cells |= of_instrument(obs, tool)
    cells |= {
        "due": day_text(due) if due is not None else None,
        "low": result.limits.low,
        "high": result.limits.high,
        "margin": result.margin,
        "probability": result.probability,
        "uncertainty": uncertainty(tool, obs.value if obs is not None else None),
    }
    return cells


def uncertainty(tool: Instrument, value: Quantity | None) -> float | None:
    """The expanded uncertainty that a tool gives a value, as a share of it; none of a point on a scale."""
    if tool.u is None or value is None or not value.base or value.kind == "temperature":
        return None
    return 2 * tool.u / abs(float(value.base))


def _is_measured(obs: Observation) -> bool:
    """Whether a tool may have given the value: there is one."""
    return obs.kind in ("joint", "reading") and obs.value is not None


def in_words(reasons: tuple[Reason, ...]) -> str | None:
    """The reasons as one text, each with its verdict; None without reasons."""
    if not reasons:
        return None
    return "; ".join([f"{reason.verdict}: {reason.message.removeprefix('missing: ')}" for reason in reasons])


def day_of(obs: Observation | None) -> str | None:
    """The day of an observation as rows have it."""
    return day_text(obs.moment.day) if obs is not None and obs.moment.day is not None else None


def of_entry(site: Site, entry: LogEntry) -> Cells:
    """What an entry says of itself."""
    moment = entry.context.moment
    return {
        "site": site.name,
        "visit": site.log.visits[moment.visit].purpose,
        "day": day_text(moment.day) if moment.day is not None else None,
        "time": clock_text(moment.clock) if moment.clock is not None else None,
        "by": entry.context.by or None,
        "remark": entry.entry.remark or None,
        "file": entry.file,
        "line": entry.entry.number,
        "text": entry.entry.text,
    }


def signed_or_not(site: Site, entry: LogEntry) -> str:
    """The state `signed` or `unsigned` of an entry."""
    return "signed" if (entry.file, entry.entry.number) in site.signed else "unsigned"

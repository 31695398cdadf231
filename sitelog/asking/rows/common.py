"""What the rows of all subjects share: where they stand, who and with what, the verdict in words."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from sitelog.asking.subjects import SUBJECTS
from sitelog.base.verdicts import Reason
from sitelog.judging.judged import Site
from sitelog.judging.results import Result
from sitelog.judging.site import LogEntry, Observation
from sitelog.judging.tools import NOTHING, Instrument, instrument_of
from sitelog.language.kinds.reading import Reading
from sitelog.notation.moments import Clock
from sitelog.notation.quantities import Quantity

Row = tuple[object, ...]
Cells = dict[str, object]


_NAMES = {name: tuple([one.name for one in subject.all_columns]) for name, subject in SUBJECTS.items()}


def row(subject: str, cells: dict[str, object]) -> Row:
    return tuple(map(cells.get, _NAMES[subject]))


day_text = lru_cache(maxsize=4096)(date.isoformat)
"""A day as rows have it; a site has few, each in many rows."""


@lru_cache(maxsize=4096)
def clock_text(clock: Clock) -> str:
    return str(clock)


def common(site: Site, obs: Observation | None, instrument_of: Instrument = NOTHING) -> Cells:
    if obs is None:
        return {"site": site.name}
    head, moment = obs.record.head, obs.moment
    entry, tool = head.entry, instrument_of.tool
    return {
        "site": site.name,
        "visit": site.log.visits[moment.visit].purpose,
        "day": day_text(moment.day) if moment.day is not None else None,
        "time": clock_text(moment.clock) if moment.clock is not None else None,
        "by": obs.by or None,
        "tool": instrument_of.name or head.tool or None,
        "kit": tool.kit if tool is not None else None,
        "cert": instrument_of.cert or None,
        "tool_due": day_text(instrument_of.due) if instrument_of.due is not None else None,
        "remark": entry.remark or None,
        "file": head.file,
        "line": head.line,
        "text": entry.text,
    }


def states_of(
    site: Site, verdict: str, reasons: tuple[Reason, ...], obs: Observation | None, *more: str
) -> str:
    words = [verdict] if verdict else []
    is_out = False
    for reason in reasons:
        if reason.verdict not in words:
            words.append(reason.verdict)
        is_out = is_out or reason.slug == "tool-out-of-calibration"
    for word in more:
        if word not in words:
            words.append(word)
    if is_out:
        words.append("out-of-calibration")
    if obs is not None:
        words.append("signed" if (obs.file, obs.line) in site.signed else "unsigned")
    return f" {' '.join(words)} "


def of_result(site: Site, result: Result) -> Cells:
    one, obs, tool = result.requirement, result.observation, result.instrument
    if not tool.name and obs is not None and _is_measured(obs) and result.kind != "spread":
        tool = instrument_of(obs, site.box)  # nothing judges a pre-tightening, but a tool made it
    cells = common(site, obs, tool)
    if one is not None:
        cells["sheet"] = one.sheet
        cells["source"] = one.source or None
        cells["visit"] = cells.get("visit") or site.log.visits[result.visit].purpose
        if result.observation is None:  # what is missing stands at the line that asks it
            cells |= {"file": one.file, "line": one.line, "text": one.text}
    due = site.due.get(id(result))
    more = ["final"] if obs is not None and obs.live else []
    if due is not None and due <= site.today:
        more.append("due")
    limits = result.limits
    cells |= {
        "verdict": result.verdict,
        "reasons": in_words(result.reasons),
        "states": states_of(site, result.verdict, result.reasons, obs, *more),
        "due": day_text(due) if due is not None else None,
        "margin": result.margin,
        "probability": result.probability,
        "uncertainty": uncertainty(tool, obs.value if obs is not None else None),
        "low": limits.low,
        "high": limits.high,
    }
    return cells


def uncertainty(tool: Instrument, value: Quantity | None) -> float | None:
    """The expanded uncertainty that a tool gives a value, as a share of it; none of a point on a scale."""
    if tool.u is None or value is None or not value.base or value.kind == "temperature":
        return None
    return 2 * tool.u / abs(float(value.base))


def _is_measured(obs: Observation) -> bool:
    """Whether a tool is behind the mark: it has a value that the equipment did not show itself."""
    displayed = isinstance(obs.record, Reading) and bool(obs.record.displayed)
    return obs.kind in ("joint", "reading") and obs.value is not None and not displayed


def is_final(obs: Observation | None) -> bool:
    return obs is not None and obs.live


def in_words(reasons: tuple[Reason, ...]) -> str | None:
    if not reasons:
        return None
    return "; ".join([f"{reason.verdict}: {reason.message.removeprefix('missing: ')}" for reason in reasons])


def day_of(obs: Observation | None) -> str | None:
    return day_text(obs.moment.day) if obs is not None and obs.moment.day is not None else None


def of_written(site: Site, one: LogEntry) -> Cells:
    moment = one.context.moment
    return {
        "site": site.name,
        "visit": site.log.visits[moment.visit].purpose,
        "day": day_text(moment.day) if moment.day is not None else None,
        "time": clock_text(moment.clock) if moment.clock is not None else None,
        "by": one.context.by or None,
        "tool": (one.record.head.tool or None) if one.record is not None else None,
        "remark": one.entry.remark or None,
        "file": one.file,
        "line": one.entry.number,
        "text": one.entry.text,
    }


def signed_or_not(site: Site, one: LogEntry) -> str:
    return "signed" if (one.file, one.entry.number) in site.signed else "unsigned"

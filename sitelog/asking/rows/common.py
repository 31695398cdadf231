"""What the rows of all subjects share: where they stand, who and with what, the verdict in words."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from sitelog.asking.subjects import SUBJECTS
from sitelog.base.verdicts import Reason
from sitelog.judging.judged import Site
from sitelog.judging.results import Result
from sitelog.judging.site import Mark, Written
from sitelog.judging.tools import NOTHING, Behind, behind
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


def common(site: Site, mark: Mark | None, behind: Behind = NOTHING) -> Cells:
    if mark is None:
        return {"site": site.name}
    head, moment = mark.record.head, mark.moment
    entry, tool = head.entry, behind.tool
    return {
        "site": site.name,
        "visit": site.log.visits[moment.visit].purpose,
        "day": day_text(moment.day) if moment.day is not None else None,
        "time": clock_text(moment.clock) if moment.clock is not None else None,
        "by": mark.by or None,
        "tool": behind.name or head.tool or None,
        "kit": tool.kit if tool is not None else None,
        "cert": behind.cert or None,
        "tool_due": day_text(behind.due) if behind.due is not None else None,
        "remark": entry.remark or None,
        "file": head.file,
        "line": head.line,
        "text": entry.text,
    }


def states_of(site: Site, verdict: str, reasons: tuple[Reason, ...], mark: Mark | None, *more: str) -> str:
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
    if mark is not None:
        words.append("signed" if (mark.file, mark.line) in site.signed else "unsigned")
    return f" {' '.join(words)} "


def of_result(site: Site, result: Result) -> Cells:
    one, mark, tool = result.asked, result.mark, result.behind
    if not tool.name and mark is not None and _is_measured(mark) and result.kind != "spread":
        tool = behind(mark, site.judge.box)  # nothing judges a pre-tightening, but a tool made it
    cells = common(site, mark, tool)
    if one is not None:
        cells["sheet"] = one.sheet
        cells["source"] = one.source or None
        cells["visit"] = cells.get("visit") or site.log.visits[result.visit].purpose
        if result.mark is None:  # what is missing stands at the line that asks it
            cells |= {"file": one.file, "line": one.line, "text": one.text}
    due = site.due.get(id(result))
    more = ["final"] if mark is not None and mark.live else []
    if due is not None and due <= site.today:
        more.append("due")
    limits = result.limits
    cells |= {
        "verdict": result.verdict,
        "reasons": in_words(result.reasons),
        "states": states_of(site, result.verdict, result.reasons, mark, *more),
        "due": day_text(due) if due is not None else None,
        "margin": result.margin,
        "probability": result.probability,
        "uncertainty": uncertainty(tool, mark.value if mark is not None else None),
        "low": limits.low,
        "high": limits.high,
    }
    return cells


def uncertainty(tool: Behind, value: Quantity | None) -> float | None:
    """The expanded uncertainty that a tool gives a value, as a share of it; none of a point on a scale."""
    if tool.u is None or value is None or not value.base or value.kind == "temperature":
        return None
    return 2 * tool.u / abs(float(value.base))


def _is_measured(mark: Mark) -> bool:
    """Whether a tool is behind the mark: it has a value that the equipment did not show itself."""
    displayed = isinstance(mark.record, Reading) and bool(mark.record.displayed)
    return mark.kind in ("joint", "reading") and mark.value is not None and not displayed


def is_final(mark: Mark | None) -> bool:
    return mark is not None and mark.live


def in_words(reasons: tuple[Reason, ...]) -> str | None:
    if not reasons:
        return None
    return "; ".join([f"{reason.verdict}: {reason.message.removeprefix('missing: ')}" for reason in reasons])


def day_of(mark: Mark | None) -> str | None:
    return day_text(mark.moment.day) if mark is not None and mark.moment.day is not None else None


def of_written(site: Site, one: Written) -> Cells:
    moment = one.around.moment
    return {
        "site": site.name,
        "visit": site.log.visits[moment.visit].purpose,
        "day": day_text(moment.day) if moment.day is not None else None,
        "time": clock_text(moment.clock) if moment.clock is not None else None,
        "by": one.around.by or None,
        "tool": (one.record.head.tool or None) if one.record is not None else None,
        "remark": one.entry.remark or None,
        "file": one.file,
        "line": one.entry.number,
        "text": one.entry.text,
    }


def signed_or_not(site: Site, one: Written) -> str:
    return "signed" if (one.file, one.entry.number) in site.signed else "unsigned"

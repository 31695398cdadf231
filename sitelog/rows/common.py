"""What the rows of all subjects share: where they stand, who and with what, the verdict in words."""

from __future__ import annotations

from sitelog.judge import Result
from sitelog.judge.tools import NOTHING, Behind, behind
from sitelog.judged import Site
from sitelog.kinds.reading import Reading
from sitelog.quantities import Quantity
from sitelog.site import Mark, Written
from sitelog.subjects import SUBJECTS
from sitelog.verdicts import Reason

Row = tuple[object, ...]
Cells = dict[str, object]


_NAMES = {name: tuple([one.name for one in subject.all_columns]) for name, subject in SUBJECTS.items()}


def row(subject: str, cells: dict[str, object]) -> Row:
    return tuple(map(cells.get, _NAMES[subject]))


def common(site: Site, mark: Mark | None, behind: Behind = NOTHING) -> Cells:
    cells: Cells = {"site": site.name}
    if mark is None:
        return cells
    head, moment = mark.record.head, mark.moment
    return cells | {
        "visit": site.log.visits[moment.visit].purpose,
        "day": moment.day.isoformat() if moment.day is not None else None,
        "time": str(moment.clock) if moment.clock is not None else None,
        "by": mark.by or None,
        "tool": behind.name or head.tool or None,
        "kit": behind.tool.kit if behind.tool is not None else None,
        "cert": behind.cert or None,
        "tool_due": behind.due.isoformat() if behind.due is not None else None,
        "remark": head.entry.remark or None,
        "file": head.file,
        "line": head.line,
        "text": head.entry.text,
    }


def states_of(site: Site, verdict: str, reasons: tuple[Reason, ...], mark: Mark | None, *more: str) -> str:
    words = list(dict.fromkeys([*filter(None, (verdict,)), *(reason.verdict for reason in reasons), *more]))
    if any(reason.slug == "tool-out-of-calibration" for reason in reasons):
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
    more = [
        *(("final",) if is_final(result.mark) else ()),
        *(("due",) if due is not None and due <= site.today else ()),
    ]
    return cells | {
        "verdict": result.verdict,
        "reasons": in_words(result.reasons),
        "states": states_of(site, result.verdict, result.reasons, result.mark, *more),
        "due": due.isoformat() if due is not None else None,
        "margin": result.margin,
        "probability": result.probability,
        "uncertainty": uncertainty(tool, mark.value if mark is not None else None),
        "low": result.limits.low,
        "high": result.limits.high,
    }


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
    return (
        "; ".join(f"{reason.verdict}: {reason.message.removeprefix('missing: ')}" for reason in reasons)
        or None
    )


def day_of(mark: Mark | None) -> str | None:
    return mark.moment.day.isoformat() if mark is not None and mark.moment.day is not None else None


def of_written(site: Site, one: Written) -> Cells:
    moment = one.around.moment
    return {
        "site": site.name,
        "visit": site.log.visits[moment.visit].purpose,
        "day": moment.day.isoformat() if moment.day is not None else None,
        "time": str(moment.clock) if moment.clock is not None else None,
        "by": one.around.by or None,
        "tool": (one.record.head.tool or None) if one.record is not None else None,
        "remark": one.entry.remark or None,
        "file": one.file,
        "line": one.entry.number,
        "text": one.entry.text,
    }


def signed_or_not(site: Site, one: Written) -> str:
    return "signed" if (one.file, one.entry.number) in site.signed else "unsigned"

"""The tools behind the values, with the calibration that was in force and what is known of them today."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from sitelog.asking.rows import tool_row
from sitelog.asking.rows.common import found_text
from sitelog.asking.subjects import SUBJECTS
from sitelog.base.frozen import replace
from sitelog.judging.calibration import found_out
from sitelog.judging.tools import instrument_of
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.tool import Calibration, Tool
from sitelog.report.handover.document import Cell, PageTable, Part, Words, heads_of
from sitelog.report.handover.handover_site import HandoverSite

_NAMES = [column.name for column in SUBJECTS["tools"].all_columns]


def tools(handover_site: HandoverSite) -> list[Part]:
    """Each tool that gave a value here, each calibration that it gave values under."""
    used: dict[tuple[str, str], Tool] = {}
    days: dict[tuple[str, str], dict[str, list[date | None]]] = defaultdict(lambda: defaultdict(list))
    known: dict[tuple[str, str], dict[str, Calibration | None]] = defaultdict(dict)
    nothing = 0
    for obs in handover_site.site.observations:
        if obs.value is None or not row_of(obs.kind).measures:
            continue
        found = instrument_of(obs, handover_site.site.box)
        if found.tool is None:
            nothing += not getattr(obs.record, "displayed", "")
            continue
        key = found.tool.kit, found.tool.name
        used[key] = found.tool
        days[key][found.cert].append(obs.moment.day)
        known[key][found.cert] = found.calibration
    rows = [
        _row(handover_site, used[key], days[key][cert], known[key][cert])
        for key in sorted(used)
        for cert in days[key]
    ]
    heads = heads_of(
        "tool; sort, serial; range …; certificate; due @; values here #; used @; at use …; found before …; "
        "found after …"
    )
    parts: list[Part] = []
    if rows:
        parts.append(
            PageTable("Tools that gave values here, with the calibration in force", heads, tuple(rows))
        )
    if nothing:
        parts.append(Words(f"△ Of {nothing} values the log does not tell which tool gave them.", "open"))
    return parts


def _row(
    handover_site: HandoverSite, tool: Tool, days: list[date | None], calibration: Calibration | None
) -> tuple[Cell, ...]:
    of_it = handover_site.site.box.calibrations(tool)
    now = dict(zip(_NAMES, tool_row(tool, of_it, len(days), 0, handover_site.site.today), strict=True))
    dated = sorted(day for day in days if day is not None)
    first = dated[0].isoformat() if dated else ""
    last = f"to {dated[-1]}" if dated and dated[0] != dated[-1] else ""
    late = calibration is not None and calibration.due is not None and dated and dated[-1] > calibration.due
    proved = f"proved on {tool.proved_on}" if tool.proved_on else "none"
    state = str(now["verdict"])
    good = state in ("in calibration", "proved")
    return (
        Cell(tool.name, note=tool.kit),
        Cell(tool.kind, note=tool.serial),
        Cell(str(now["range"] or "")),
        Cell(
            (calibration.cert or "no number") if calibration is not None else proved,
            note=f"of {calibration.day}" if calibration is not None else "",
        ),
        Cell(
            calibration.due.isoformat() if calibration is not None and calibration.due is not None else "",
            look="bad" if late else "",
            note="✗ used after it" if late else "",
        ),
        Cell(str(len(days))),
        Cell(first, note=last),
        replace(_at_use(tool, calibration, dated), note=f"today {'✓' if good else '△'} {state}"),
        Cell((found_text(calibration) or "") if calibration is not None else ""),
        _found_after(tool, calibration, of_it),
    )


def _at_use(tool: Tool, calibration: Calibration | None, dated: list[date]) -> Cell:
    """Whether the tool was in calibration on each day on which it gave a value here."""
    if calibration is None:
        return Cell("✓ proved", look="good") if tool.proved_on else Cell("△ no calibration", look="open")
    if not dated:
        return Cell("△ no day", look="open")
    if calibration.due is None:
        return Cell("△ no due date", look="open")
    if dated[-1] > calibration.due or dated[0] < calibration.day:
        return Cell("✗ out of calibration", look="bad")
    return Cell("✓ in calibration", look="good")


def _found_after(tool: Tool, calibration: Calibration | None, of_it: Sequence[Calibration]) -> Cell:
    """What the next calibration found: it tells most of the values here."""
    later = [one for one in of_it if calibration is None or one.day > calibration.day]
    if not later:
        return Cell("")
    out = [text for measure in tool.measures for text in found_out(tool, measure, later[0])]
    note = later[0].day.isoformat()
    if out:
        return Cell("✗ " + "; ".join(out), look="bad", note=note)
    return Cell(found_text(later[0]) or "", note=note)

"""The tools behind the values, with the calibration that was in force and what is known of them today."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from sitelog.asking.rows import tool_row
from sitelog.asking.subjects import SUBJECTS
from sitelog.judging.tools import instrument_of
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.tool import Calibration, Tool
from sitelog.report.handover.document import Cell, Part, Table, Words, heads_of
from sitelog.report.handover.told import Told

_NAMES = [column.name for column in SUBJECTS["tools"].all_columns]


def tools(told: Told) -> list[Part]:
    """Each tool that gave a value here, each calibration that it gave values under."""
    used: dict[tuple[str, str], Tool] = {}
    days: dict[tuple[str, str], dict[str, list[date | None]]] = defaultdict(lambda: defaultdict(list))
    known: dict[tuple[str, str], dict[str, Calibration | None]] = defaultdict(dict)
    nothing = 0
    for obs in told.site.observations:
        if obs.value is None or not row_of(obs.kind).measures:
            continue
        found = instrument_of(obs, told.site.box)
        if found.tool is None:
            nothing += not getattr(obs.record, "displayed", "")
            continue
        key = found.tool.kit, found.tool.name
        used[key] = found.tool
        days[key][found.cert].append(obs.moment.day)
        known[key][found.cert] = found.calibration
    rows = [
        _row(told, used[key], days[key][cert], known[key][cert]) for key in sorted(used) for cert in days[key]
    ]
    heads = heads_of(
        "tool; sort; range …; serial; certificate; calibrated @; due @; values here #; used @; found …; today"
    )
    parts: list[Part] = []
    if rows:
        parts.append(Table("Tools that gave values here, with the calibration in force", heads, tuple(rows)))
    if nothing:
        parts.append(Words(f"△ Of {nothing} values the log does not tell which tool gave them.", "open"))
    return parts


def _row(
    told: Told, tool: Tool, days: list[date | None], calibration: Calibration | None
) -> tuple[Cell, ...]:
    of_it = told.site.box.calibrations(tool)
    now = dict(zip(_NAMES, tool_row(tool, of_it, len(days), 0, told.site.today), strict=True))
    dated = sorted(day for day in days if day is not None)
    first = dated[0].isoformat() if dated else ""
    last = f"to {dated[-1]}" if dated and dated[0] != dated[-1] else ""
    late = calibration is not None and calibration.due is not None and dated and dated[-1] > calibration.due
    proved = f"proved on {tool.proved_on}" if tool.proved_on else "none"
    state = str(now["verdict"])
    good = state in ("in calibration", "proved")
    return (
        Cell(tool.name, note=tool.kit),
        Cell(tool.kind),
        Cell(str(now["range"] or "")),
        Cell(tool.serial),
        Cell((calibration.cert or "no number") if calibration is not None else proved),
        Cell(calibration.day.isoformat() if calibration is not None else ""),
        Cell(
            calibration.due.isoformat() if calibration is not None and calibration.due is not None else "",
            look="bad" if late else "",
            note="✗ used after it" if late else "",
        ),
        Cell(str(len(days))),
        Cell(first, note=last),
        Cell(str(now["found"] or "") if not of_it or calibration is of_it[-1] else ""),
        Cell(f"{'✓' if good else '△'} {state}", look="good" if good else "open"),
    )

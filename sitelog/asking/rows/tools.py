"""The rows of tools, which belong to kits and to no site."""

from __future__ import annotations

from datetime import date

from sitelog.asking.rows.common import (
    RowTuple,
    found_text,
    row,
)
from sitelog.base.verdicts import NOT_APPLICABLE
from sitelog.judging.calibration import found_out
from sitelog.language.kinds.tool import Calibration, Tool


def tool_row(
    tool: Tool, calibrations: tuple[Calibration, ...], uses: int, cycles: int, today: date
) -> RowTuple:
    """The row of one tool of a kit, as things stand today: a later calibration is not known yet."""
    calibrations = tuple(calibration for calibration in calibrations if calibration.day <= today)
    newest = calibrations[-1] if calibrations else None
    due = newest.due if newest is not None else None
    words: list[str] = []
    verdict = "in calibration"
    if not calibrations and not tool.proved_on and tool.kind != "proving-unit":
        verdict = "no calibration"
        words += ["out-of-calibration", "untraceable"]
    elif due is not None and due < today:
        verdict = "out of calibration"
        words += ["out-of-calibration", "due"]
    elif not calibrations:
        verdict = "proved" if tool.proved_on else NOT_APPLICABLE
    outside = [
        text
        for calibration in calibrations[-1:]
        for measure in tool.measures
        for text in found_out(tool, measure, calibration)
    ]
    if outside:
        words.append("doubtful")
    return row(
        "tools",
        {
            "tool": tool.name,
            "kit": tool.kit,
            "kind": tool.kind,
            "range": ", ".join(filter(None, (measure.range_text for measure in tool.measures))) or None,
            "serial": tool.serial or None,
            "cert": newest.cert or None if newest is not None else None,
            "calibrated": newest.day.isoformat() if newest is not None else None,
            "due": due.isoformat() if due is not None else None,
            "day": due.isoformat() if due is not None else None,
            "found": "; ".join(outside) or (found_text(newest) if newest is not None else None),
            "uses": uses,
            "cycles": cycles,
            "verdict": verdict,
            "states": f" {' '.join(words)} ",
            "file": tool.file,
            "line": tool.line,
            "text": f"tool {tool.name} {tool.kind}",
        },
    )

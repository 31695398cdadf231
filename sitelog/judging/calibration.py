"""What a tool can be relied on for on a day: which calibration is in force, and how well it measures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import Reason
from sitelog.language.kinds.tool import Calibration, Measure, Tool
from sitelog.notation.quantities import format_quantity

ISO_6789_SMALL = 0.06
"""Permissible deviation of a torque tool with a maximum of up to 10 N·m (ISO 6789:2003, setting tools)."""
ISO_6789_LARGE = 0.04
"""The same above 10 N·m."""
ISO_6789_BOUNDARY = 10.0
ISO_6789_MONTHS = 12
"""Recalibration where a company has no interval of its own: 12 months or 5000 uses, whichever is first."""
ISO_6789_USES = 5000


class CalibrationInterval(NamedTuple):
    """What can be said of a tool on a day before any value is looked at."""

    calibration: Calibration | None
    due: date | None
    share: float | None
    fixed: float | None
    reasons: tuple[Reason, ...]
    by_default: str


def interval_on(
    tool: Tool, measure: Measure, calibrations: tuple[Calibration, ...], day: date | None
) -> CalibrationInterval:
    """What can be said of a tool on a day, by the calibrations that its kit gives, in order of their days.

    Without a day the newest calibration counts.
    """
    reasons: list[Reason] = []
    calibration = _in_force(calibrations, day)
    share, fixed, by_default = limits_of(measure)
    due: date | None = None
    if calibration is None:
        when = f" on {day}" if calibrations and day is not None else ""
        reasons.append(
            Reason(
                "untraceable",
                "no-calibration",
                f"the kit has no calibration of {tool.name}{when}",
                "add its `calibrated` line to the kit",
            )
        )
    else:
        due = calibration.due
        if due is None and measure.kind == "torque":
            due = months_later(calibration.day, ISO_6789_MONTHS)
            by_default = " and ".join(filter(None, (by_default, f"{ISO_6789_MONTHS} months")))
        if due is None:
            reasons.append(
                Reason(
                    "untraceable",
                    "untraceable",
                    f"the kit does not say until when {tool.name} is calibrated",
                    "add `due` and the day",
                )
            )
        elif day is not None and day > due:
            message = f"{tool.name} was out of calibration on {day}: it was due on {due}"
            reasons.append(
                Reason(
                    "untraceable", "tool-out-of-calibration", message, "measure again with a calibrated tool"
                )
            )
    if share is not None and day is not None:
        reasons += _found_out(tool, measure, [known for known in calibrations if known.day > day])
    if share is None:
        reasons.append(
            Reason(
                "untraceable",
                "untraceable",
                f"the kit gives {tool.name} no accuracy",
                "add it to the kit, such as `+-3 %`",
            )
        )
    return CalibrationInterval(calibration, due, share, fixed, tuple(reasons), by_default)


def limits_of(measure: Measure) -> tuple[float | None, float | None, str]:
    """The tool's permissible error as a share and a fixed part; a standard's where the kit is silent.

    The class boundary is the tool's maximum, not the torque applied (ISO 6789:2003).
    """
    if measure.share is not None:
        return measure.share, measure.fixed, ""
    if measure.kind != "torque" or measure.high is None:
        return None, None, ""
    share = ISO_6789_SMALL if measure.high.base <= ISO_6789_BOUNDARY else ISO_6789_LARGE
    return share, 0.0, f"±{share * 100:g} %"


def _in_force(calibrations: tuple[Calibration, ...], day: date | None) -> Calibration | None:
    if day is None:
        return calibrations[-1] if calibrations else None
    return next((known for known in reversed(calibrations) if known.day <= day), None)


def months_later(day: date, months: int) -> date:
    """The same day of a later month, or its last day: 12 months to the day."""
    year, month = divmod(day.month - 1 + months, 12)
    for number in range(day.day, 27, -1):
        try:
            return date(day.year + year, month + 1, number)
        except ValueError:
            continue
    return date(day.year + year, month + 1, day.day)


def found_out(measure: Measure, calibration: Calibration) -> list[str]:
    """What a calibration found outside the tool's limits, each point as a sentence's end."""
    share, fixed, _ = limits_of(measure)
    if share is None:
        return []
    found: list[str] = []
    for point in calibration.found:
        if point.error is not None:
            if abs(point.error) > share + 1e-12:
                found.append(f"{point.error * 100:+.1f} %")
        elif point.true is not None and point.shown is not None and point.true.kind == measure.kind:
            true, shown = float(point.true.base), float(point.shown.base)
            if abs(shown - true) > share * abs(true) + (fixed or 0.0) + 1e-12 * abs(true):
                found.append(
                    f"it gave {format_quantity(point.true)} where it showed {format_quantity(point.shown)}"
                    f" ({(shown - true) / true * 100:+.1f} %)"
                )
    return found


def _found_out(tool: Tool, measure: Measure, later: Sequence[Calibration]) -> list[Reason]:
    """What the next calibration after a day says of the tool on that day."""
    if not later or not (outside := found_out(measure, later[0])):
        return []
    message = f"{tool.name} was found outside its limits on {later[0].day}: {outside[0]}"
    help = "every use since the calibration before is in doubt"
    return [Reason("doubtful", "tool-found-out", message, help)]

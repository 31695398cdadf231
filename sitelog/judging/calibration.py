"""What a tool can be relied on for on a day: which calibration is in force, and how well it measures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import Reason
from sitelog.language.kinds.tool import Calibration, Measure, Point, Tool
from sitelog.notation.quantities import format_quantity

ISO_6789_SMALL = 0.06
"""Permissible deviation of a torque tool with a maximum of up to 10 N·m (ISO 6789:2003, setting tools)."""
ISO_6789_LARGE = 0.04
"""The same above 10 N·m."""
ISO_6789_DRIVER = 0.06
"""The same for torque drivers of any size (ISO 6789-1:2017, 5.1.5, from memory)."""
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


_FEWEST = 1000
"""A point below this part of a range's end was not taken on that range, unless the certificate says so."""


def interval_on(
    tool: Tool, measure: Measure, calibrations: tuple[Calibration, ...], day: date | None
) -> CalibrationInterval:
    """What can be said of a tool on a day, by the calibrations that its kit gives, in order of their days.

    Evidence needed: a calibration done on that day or before it and not due before it, an accuracy and a U
    that can be read, and limits that the tool kept as that calibration left it and as the next one found it.
    Without a day the newest calibration counts. An `indicating` tool needs no calibration, and says so.
    """
    reasons: list[Reason] = []
    calibration = _in_force(calibrations, day)
    share, fixed, by_default = limits_of(measure)
    due: date | None = None
    if calibration is None and tool.indicating:
        message = f"{tool.name} only indicates: nobody calibrates it"
        reasons.append(
            Reason("pass", "indicating", message, "take a calibrated one where the value is near its limit")
        )
    elif calibration is None:
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
        if "U" in calibration.unread:
            share = None
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
    if calibration is not None:
        reasons += _left_out(tool, measure, calibration)
    if day is not None:
        reasons += _found_out(tool, measure, [known for known in calibrations if known.day > day])
    if share is None and not (calibration is None and tool.indicating and not measure.unread):
        reasons.append(_no_accuracy(tool, measure, calibration))
    return CalibrationInterval(calibration, due, share, fixed, tuple(reasons), by_default)


def _no_accuracy(tool: Tool, measure: Measure, calibration: Calibration | None) -> Reason:
    """Why it is not known how well a tool measures: nothing is said, or what is said can't be read."""
    if measure.unread:
        message, help = (
            f"the accuracy of {tool.name} in the kit can't be read, so it is unknown",
            "mend its line",
        )
    elif calibration is not None and "U" in calibration.unread:
        message = f"the U of {tool.name}'s calibration of {calibration.day} can't be read, so it is unknown"
        help = "mend its line: `U 0.8 %`"
    else:
        message, help = f"the kit gives {tool.name} no accuracy", "add it to the kit, such as `+-3 %`"
    return Reason("untraceable", "untraceable", message, help)


def limits_of(measure: Measure) -> tuple[float | None, float | None, str]:
    """The tool's permissible error as a share and a fixed part; a standard's where the kit is silent.

    The class boundary is the tool's maximum, not the torque applied (ISO 6789:2003).
    """
    if measure.share is not None:
        return measure.share, measure.fixed, ""
    if measure.kind != "torque" or measure.high is None or measure.unread:
        return None, None, ""
    share = ISO_6789_SMALL if measure.high.base <= ISO_6789_BOUNDARY else ISO_6789_LARGE
    share = ISO_6789_DRIVER if measure.name == "torque-driver" else share
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


def points_of(tool: Tool, measure: Measure, points: Sequence[Point]) -> list[Point]:
    """The points of a certificate that were taken on one function of a tool.

    A point that names its function is of that one only. Any other is of each function whose range can hold
    it: not of one that ends below it, nor of one that ends more than a thousand times above it. Where no
    range holds it, it is of each function of its sort.
    """
    return [point for point in points if measure in _functions(tool, point)]


def _functions(tool: Tool, point: Point) -> list[Measure]:
    if point.function:
        return [measure for measure in tool.measures if measure.name == point.function]
    if point.shown is None:
        return list(tool.measures)
    alike = [measure for measure in tool.measures if measure.kind == point.shown.kind]
    shown = abs(point.shown.base)
    holding = [
        measure
        for measure in alike
        if measure.high is not None and measure.high.base / _FEWEST <= shown <= measure.high.base
    ]
    return holding or alike


def outside_limits(tool: Tool, measure: Measure, points: Sequence[Point]) -> list[str]:
    """What a calibration found outside the limits of one function, each point as a sentence's end.

    An error for the whole range is held against the limits at the range's end: there a fixed part of the
    accuracy helps the least.
    """
    share, fixed, _ = limits_of(measure)
    if share is None:
        return []
    fixed = (fixed or 0.0) + measure.digits * (measure.step or 0.0)
    end = abs(float(measure.high.base)) if measure.high is not None else 0.0
    found: list[str] = []
    for point in points_of(tool, measure, points):
        if point.error is not None:
            if abs(point.error) > share + (fixed / end if end else 0.0) + 1e-12:
                found.append(f"{point.error * 100:+.1f} %")
        elif point.true is not None and point.shown is not None:
            true, shown = float(point.true.base), float(point.shown.base)
            if abs(shown - true) > share * abs(true) + fixed + 1e-12 * abs(true):
                found.append(
                    f"it gave {format_quantity(point.true)} where it showed {format_quantity(point.shown)}"
                    f" ({(shown - true) / true * 100:+.1f} %)"
                )
    return found


def found_out(tool: Tool, measure: Measure, calibration: Calibration) -> list[str]:
    """What a calibration found outside the limits of a function as the tool came, before any adjustment."""
    return outside_limits(tool, measure, calibration.found)


def _left_out(tool: Tool, measure: Measure, calibration: Calibration) -> list[Reason]:
    """What the calibration in force says against the tool as it went out again.

    Found outside its limits, it is in doubt from that day until a certificate shows it within them: the
    `left` of this calibration, or a newer one.
    """
    left = points_of(tool, measure, calibration.left)
    message = help = ""
    if "left" in calibration.unread:
        message, help = f"how {tool.name} was left on {calibration.day} can't be read", "mend its line"
    elif outside := outside_limits(tool, measure, left):
        message = f"{tool.name} was left outside its limits on {calibration.day}: {outside[0]}"
        help = "take another tool until it is adjusted and calibrated"
    elif not left and (outside := found_out(tool, measure, calibration)):
        message = (
            f"{tool.name} was found outside its limits on {calibration.day}: {outside[0]};"
            " nothing says how it was left"
        )
        help = "write what it showed after its adjustment, such as `left 12 Nm at 12 Nm`"
    elif not left and "found" in calibration.unread:
        message, help = f"what was found of {tool.name} on {calibration.day} can't be read", "mend its line"
    return [Reason("doubtful", "tool-found-out", message, help)] if message else []


def _found_out(tool: Tool, measure: Measure, later: Sequence[Calibration]) -> list[Reason]:
    """What the next calibration after a day says of the tool on that day."""
    if not later:
        return []
    help = "every use since the calibration before is in doubt"
    if outside := found_out(tool, measure, later[0]):
        message = f"{tool.name} was found outside its limits on {later[0].day}: {outside[0]}"
        return [Reason("doubtful", "tool-found-out", message, help)]
    if "found" in later[0].unread:
        message = f"what was found of {tool.name} on {later[0].day} can't be read"
        return [Reason("doubtful", "tool-found-out", message, "mend its line")]
    return []

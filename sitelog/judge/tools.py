"""The tool behind a value: which one it was, whether it was in calibration, and how well it measures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from sitelog.frozen import record
from sitelog.kinds.reading import Reading
from sitelog.kinds.tool import Calibration, Measure, Tool
from sitelog.kinds.torque import Torque
from sitelog.physics.uncertainty import standard_uncertainty
from sitelog.quantities import Quantity, format_quantity
from sitelog.records import Kit
from sitelog.site import Mark
from sitelog.verdicts import Reason

# Tests that only an instrument made for them can do; a resistance or voltage range is not enough
# (IEC 61557 has a part for each).
OWN_INSTRUMENT = frozenset({"insulation", "loop", "rcd-time", "rcd-current", "electrode", "continuity"})
_ALSO = {("continuity", "resistance"), ("continuity", "ohmmeter"), ("earth-electrode", "electrode")}

ISO_6789_SMALL = 0.06
"""Permissible deviation of a torque tool with a maximum of up to 10 N·m (ISO 6789:2003, setting tools)."""
ISO_6789_LARGE = 0.04
"""The same above 10 N·m."""
ISO_6789_BOUNDARY = 10.0
ISO_6789_MONTHS = 12
"""Recalibration where a company has no interval of its own: 12 months or 5000 uses, whichever is first."""
ISO_6789_USES = 5000


@record
class Behind:
    """What stands behind one value. `u` is its standard uncertainty in base units; None where unknown."""

    tool: Tool | None = None
    name: str = ""
    calibration: Calibration | None = None
    due: date | None = None
    u: float | None = None
    reasons: tuple[Reason, ...] = ()
    by_default: str = ""  # what a standard gave where the kit is silent

    @property
    def cert(self) -> str:
        """The certificate of the calibration in force."""
        return self.calibration.cert if self.calibration is not None else ""


NOTHING = Behind()


class Toolbox:
    """The tools that the names in a site's logs can mean."""

    def __init__(self, kits: Sequence[Kit], in_reach: Iterable[Kit] = ()) -> None:
        self._kits = tuple(kits)
        self._all = self._kits or tuple(in_reach)
        self.named = bool(self._kits)

    @property
    def kits(self) -> tuple[Kit, ...]:
        """The kits named, or all in reach where none is."""
        return self._all

    def find(self, name: str) -> list[Tool]:
        """Every tool of that name."""
        key = name.casefold()
        return [kit.tools[key] for kit in self._all if key in kit.tools]

    def nearest(self, name: str) -> str:
        """A tool of nearly that name."""
        from difflib import get_close_matches

        known = {key: tool.name for kit in self._all for key, tool in kit.tools.items()}
        close = get_close_matches(name.casefold(), known, 1, 0.5)
        return known[close[0]] if close else ""

    def calibrations(self, tool: Tool) -> tuple[Calibration, ...]:
        """The calibrations of a tool, in order of their day."""
        kit = next(
            (kit for kit in self._all if kit.name == tool.kit and tool.name.casefold() in kit.tools), None
        )
        return kit.calibrations.get(tool.name.casefold(), ()) if kit is not None else ()


# ---- which tool --------------------------------------------------------------------------------------
def measure_for(tool: Tool, mark: Mark) -> Measure | None:
    """What the tool measures of the mark's sort; None where it does not measure that."""
    if mark.kind == "joint":
        return next((one for one in tool.measures if one.kind == "torque" or "torque" in one.name), None)
    what = "voltage" if mark.kind == "dead" else mark.what.casefold()
    kind = mark.value.kind if mark.value is not None else ""
    for one in tool.measures:
        if one.name == what or (what, one.name) in _ALSO:
            return one
    if what in OWN_INSTRUMENT:
        return None
    return next(
        (one for one in tool.measures if one.kind and one.kind == kind and one.name not in OWN_INSTRUMENT),
        None,
    )


def _in_range(measure: Measure, q: Quantity | None, mark: Mark) -> bool:
    if q is None or measure.low is None or measure.high is None or measure.kind != q.kind:
        return True
    below_counts = mark.kind != "dead" and q.bound != "<"
    return (q.base >= measure.low.base or not below_counts) and q.base <= measure.high.base


def _values(mark: Mark) -> list[Quantity]:
    record = mark.record
    if isinstance(record, (Torque, Reading)):
        return [value.quantity for value in record.values if value.quantity is not None]
    return [mark.value] if mark.value is not None else []


def behind(mark: Mark, box: Toolbox) -> Behind:
    """The tool behind a mark, and every reason why it does not stand behind the value."""
    named = mark.record.head.tool
    if named:
        return _named(mark, named, box)
    candidates: list[tuple[Tool, Measure]] = []
    for name in mark.in_use:
        for tool in box.find(name):
            measure = measure_for(tool, mark)
            if measure is not None:
                candidates.append((tool, measure))
    exact = [one for one in candidates if one[1].name == mark.what.casefold()]
    candidates = exact or candidates
    if mark.kind == "dead":
        candidates = [one for one in candidates if one[0].proved_on] or candidates
    if len(candidates) > 1:
        fitting = [one for one in candidates if all(_in_range(one[1], q, mark) for q in _values(mark))]
        if not fitting:
            fitting = _all_but_one(candidates, mark)
        if len(fitting) != 1:
            names = ", ".join(tool.name for tool, _ in candidates)
            which = "each could have been it" if fitting else "and the values are in the range of none"
            reason = Reason(
                "untraceable",
                "which-tool",
                f"which tool? {names} are in use, {which}",
                "add `with` and its name",
            )
            return Behind(reasons=(reason,))
        candidates = fitting
    if not candidates:
        return Behind(reasons=(_no_tool(mark),))
    return _judged(mark, *candidates[0], box)


def _all_but_one(candidates: Sequence[tuple[Tool, Measure]], mark: Mark) -> list[tuple[Tool, Measure]]:
    """The tools whose range holds every value of a list of three or more but one, the slip of the pen.

    Of two values neither can be told to be the slip.
    """
    values = _values(mark)
    if len(values) < 3:
        return []
    return [one for one in candidates if sum(_in_range(one[1], q, mark) for q in values) == len(values) - 1]


def _no_tool(mark: Mark) -> Reason:
    about = "torque" if mark.kind == "joint" else "voltage" if mark.kind == "dead" else mark.what
    if mark.in_use:
        message = f"none of the tools in use ({', '.join(mark.in_use)}) measures {about}"
    else:
        message = f"no tool is named for this {about}"
    return Reason("untraceable", "no-tool", message, "add `with` and the tool's name, or a `use` line above")


def _named(mark: Mark, name: str, box: Toolbox) -> Behind:
    found = box.find(name)
    if not found:
        if not box.kits:
            reason = Reason(
                "untraceable",
                "no-kit",
                f"no kit is in reach, so nothing is known of `{name}`",
                "name the crew's kit: `kit NAME`",
            )
        else:
            near = box.nearest(name)
            kits = ", ".join(kit.name for kit in box.kits)
            reason = Reason(
                "untraceable",
                "unknown-tool",
                f"no tool `{name}` in {kits}",
                f"did you mean `{near}`?" if near else "",
            )
        return Behind(name=name, reasons=(reason,))
    if len(found) > 1:
        kits = " and ".join(tool.kit for tool in found)
        reason = Reason("untraceable", "which-tool", f"`{name}` is in {kits}", "name one kit: `kit NAME`")
        return Behind(name=name, reasons=(reason,))
    tool = found[0]
    measure = measure_for(tool, mark)
    if measure is None:
        about = "torque" if mark.kind == "joint" else mark.what or "voltage"
        reason = Reason(
            "untraceable", "wrong-tool", f"{tool.name} is a {tool.kind} and does not measure {about}"
        )
        return Behind(tool, tool.name, reasons=(reason,))
    return _judged(mark, tool, measure, box)


# ---- whether it can be relied on ----------------------------------------------------------------------
def _judged(mark: Mark, tool: Tool, measure: Measure, box: Toolbox) -> Behind:
    reasons: list[Reason] = []
    if not _in_range(measure, mark.value, mark):
        assert mark.value is not None
        assert measure.high is not None
        assert measure.low is not None
        above = mark.value.base > measure.high.base
        end = format_quantity(measure.high if above else measure.low)
        edge = f"{tool.name} {'ends' if above else 'begins'} at {end}"
        message = f"{edge}, so {format_quantity(mark.value)} is not proven by it"
        reasons.append(
            Reason(
                "untraceable", "tool-out-of-range", message, "measure again with a tool of the right range"
            )
        )
    if mark.kind == "dead" and tool.proved_on:
        reasons += _proved(mark, tool, box)
        return Behind(tool, tool.name, reasons=tuple(reasons))
    calibrations = box.calibrations(tool)
    day = mark.moment.day
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
    reasons += _found_out(tool, measure, calibrations, day, share, fixed)
    u: float | None = None
    if share is None:
        reasons.append(
            Reason(
                "untraceable",
                "untraceable",
                f"the kit gives {tool.name} no accuracy",
                "add it to the kit, such as `+-3 %`",
            )
        )
    elif mark.value is not None and not mark.value.bound:
        value = abs(float(mark.value.base))
        expanded = calibration.uncertainty * value if calibration is not None else 0.0
        u = standard_uncertainty(share * value + (fixed or 0.0), expanded)
    return Behind(tool, tool.name, calibration, due, u, tuple(reasons), by_default)


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
    return next((one for one in reversed(calibrations) if one.day <= day), None)


def months_later(day: date, months: int) -> date:
    """The same day of a later month, or its last day: 12 months to the day."""
    year, month = divmod(day.month - 1 + months, 12)
    for number in range(day.day, 27, -1):
        try:
            return date(day.year + year, month + 1, number)
        except ValueError:
            continue
    return date(day.year + year, month + 1, day.day)


def _proved(mark: Mark, tool: Tool, box: Toolbox) -> list[Reason]:
    record = mark.record
    unit, before, after = record.proved if isinstance(record, Reading) else ("", False, False)
    if not before or not after:
        lacking = "before and after" if not before and not after else "after" if before else "before"
        message = f"{tool.name} was not proved {lacking} the test, so dead is not shown"
        help = f"prove it on {tool.proved_on} and write `proved on {tool.proved_on} before, after`"
        return [Reason("untraceable", "not-proved", message, help)]
    if unit and not box.find(unit):
        return [Reason("untraceable", "unknown-tool", f"no proving unit `{unit}` in the kit")]
    return []


class _Out(NamedTuple):
    shown: str
    error: float


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


def _found_out(
    tool: Tool,
    measure: Measure,
    calibrations: tuple[Calibration, ...],
    day: date | None,
    share: float | None,
    fixed: float | None,
) -> list[Reason]:
    if share is None or day is None:
        return []
    later = next((one for one in calibrations if one.day > day), None)
    if later is None or not (out := found_out(measure, later)):
        return []
    message = f"{tool.name} was found outside its limits on {later.day}: {out[0]}"
    return [
        Reason("doubtful", "tool-found-out", message, "every use since the calibration before is in doubt")
    ]

"""How far a tool can be relied on for a value: its range, its limits, its last digit; whether it clicks."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from sitelog.base.frozen import NamedTuple
from sitelog.base.memory import remembered
from sitelog.base.verdicts import Reason
from sitelog.judging.calibration import CalibrationInterval
from sitelog.judging.site import Observation
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.tool import Calibration, Measure, Tool
from sitelog.notation.quantities import Problem, Quantity, difference_in_base, find_unit, format_quantity
from sitelog.physics.uncertainty import standard_uncertainty


class Instrument(NamedTuple):
    """The instrument of one value. `u` is its standard uncertainty in base units; None where unknown."""

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


NOTHING = Instrument()

_MOST = 10_000
"""Answers that one memory holds; more are forgotten all at once."""

_new = tuple.__new__  # three times as fast as calling a NamedTuple


def in_range(measure: Measure, q: Quantity | None, kind: str) -> bool:
    """Whether a range holds a value. Below its beginning a test for dead is still good."""
    if q is None or measure.low is None or measure.high is None or measure.kind != q.kind:
        return True
    below_counts = not row_of(kind).symmetric and q.bound != "<"
    return (q.base >= measure.low.base or not below_counts) and q.base <= measure.high.base


def by_click(obs: Observation, tool: Tool) -> tuple[Reason, ...]:
    """A click tool shows no value, and any other does not click: the tool or the value is another one."""
    if row_of(obs.kind).measures != "torque" or obs.value is None:
        return ()
    if tool.click and obs.mode == "final":
        message = (
            f"{tool.name} clicks and shows no value, so {format_quantity(obs.value)} was not read off it"
        )
        help = "write its setting as `click 12 Nm`, or name the tool that showed the value"
    elif obs.mode == "click" and not tool.click:
        message = f"{tool.name} does not click by its kit"
        help = "name the tool that clicked, or add `click` to its line in the kit"
    else:
        return ()
    return (Reason("doubtful", "click-tool", message, help),)


@remembered(_MOST)
def relied_on(
    tool: Tool, measure: Measure, value: Quantity | None, interval: CalibrationInterval, kind: str
) -> Instrument:
    """How far a tool can be relied on for a value. A fleet has few different values, so it is remembered."""
    u: float | None = None
    by_default = interval.by_default
    if interval.share is not None and value is not None and not value.bound:
        size = abs(float(value.base))
        calibration = interval.calibration
        expanded = (calibration.uncertainty or 0.0) * size if calibration is not None else 0.0
        step = measure.step or 0.0
        if measure.digits and not step:
            step = last_digit(value)
            by_default = f"as written: {format_quantity(_one_step(value))}"
        fixed = (interval.fixed or 0.0) + measure.digits * step
        u = standard_uncertainty(interval.share * size + fixed, expanded, step)
    reasons = out_of_range(tool, measure, value, kind)
    every = (*reasons, *interval.reasons) if reasons else interval.reasons
    return _new(Instrument, (tool, tool.name, interval.calibration, interval.due, u, every, by_default))


def out_of_range(tool: Tool, measure: Measure, value: Quantity | None, kind: str) -> tuple[Reason, ...]:
    """Why a value is not proven by a tool: it lies outside the range, or no range is known."""
    if value is None:
        return ()
    if measure.low is None or measure.high is None:
        if tool.indicating:
            return ()
        message = (
            f"the kit gives {tool.name} no range, so nothing shows that it measures {format_quantity(value)}"
        )
        return (
            Reason("untraceable", "untraceable", message, "add its range to the kit, such as `0..20 ohm`"),
        )
    if in_range(measure, value, kind):
        return ()
    above = value.base > measure.high.base
    end = format_quantity(measure.high if above else measure.low)
    edge = f"{tool.name} {'ends' if above else 'begins'} at {end}"
    message = f"{edge}, so {format_quantity(value)} is not proven by it"
    help = "measure again with a tool of the right range"
    return (Reason("untraceable", "tool-out-of-range", message, help),)


def _one_step(value: Quantity) -> Quantity:
    """One step of the last digit of a value as it is written: 0.01 ohm for 0.25 ohm."""
    exponent = value.number.as_tuple().exponent
    number = Decimal(1).scaleb(exponent if isinstance(exponent, int) else 0)
    return value._replace(number=number, bound="", text="")


def last_digit(value: Quantity) -> float:
    """The last digit of a value as written, in the base unit of its kind."""
    unit = find_unit(value.unit)
    number = _one_step(value).number
    return float(number) if isinstance(unit, Problem) else float(difference_in_base(number, unit))

"""What a quantity can be at all. A value out of its domain was mistyped, whatever a sheet allows."""

from __future__ import annotations

from decimal import Decimal

from sitelog.base.frozen import NamedTuple
from sitelog.notation.quantities.numerals import format_number
from sitelog.notation.quantities.quantity import Problem, Quantity
from sitelog.notation.quantities.slips import probably_meant


class Domain(NamedTuple):
    """The values that can be, in the base unit of their kind; `low_open` leaves the lowest itself out.

    `why` says it in words: `a length is above 0`.
    """

    low: Decimal | None
    high: Decimal | None
    low_open: bool
    why: str


def _from_zero(what: str) -> Domain:
    return Domain(Decimal(0), None, False, f"{what} is never below 0")


# By kind of quantity; voltage, current, power and a length can have a direction, so they are not here.
# Physics, except for time and share: a duration is what is written here, never a moment.
DOMAINS: dict[str, Domain] = {
    "torque": _from_zero("a torque"),
    "area": _from_zero("a cross-section"),
    "mass": _from_zero("a mass"),
    "apparent-power": _from_zero("an apparent power"),
    "resistance": _from_zero("a resistance"),
    "time": _from_zero("a time"),
    "frequency": _from_zero("a frequency"),
    "irradiance": _from_zero("an irradiance"),
    # Absolute zero: SI brochure, 9th edition, 2.3.1 (from memory).
    "temperature": Domain(Decimal("-273.15"), None, False, "no temperature is below -273.15 degC"),
}
PART_OF_WHOLE = Domain(Decimal(0), Decimal(1), False, "such a share lies from 0 to 100 %")


def above_zero(what: str) -> Domain:
    """The domain of what has a size: `a cable's length`."""
    return Domain(Decimal(0), None, True, f"{what} is above 0")


def from_zero(what: str) -> Domain:
    """The domain of what may be nothing, but not less: `a trip time`."""
    return _from_zero(what)


def _is_inside(domain: Domain, base: Decimal, bound: str) -> bool:
    """Whether some value that is written, or that a bound leaves open, can be."""
    low, high = domain.low, domain.high
    if low is not None and bound != ">" and (base < low or (base == low and (domain.low_open or bound))):
        return False
    return high is None or bound == "<" or not (base > high or (base == high and bound))


def domain_problem(q: Quantity, domain: Domain | None = None) -> Problem | None:
    """What is wrong where `q` is no value that can be: outside its kind's domain, or outside `domain`.

    The help asks what was probably meant. Problem: `impossible-value`.
    """
    for each in (domain, DOMAINS.get(q.kind)):
        if each is None or (_is_inside(each, q.base, q.bound) and not _is_signed_bound(each, q)):
            continue
        message = f"{q.text or format_number(q.number)} cannot be: {each.why}"
        return Problem("impossible-value", message, _meant(q, each))
    return None


def _is_signed_bound(domain: Domain, q: Quantity) -> bool:
    """`> -5 ohm` says nothing: a minus stands before what has none."""
    return q.bound == ">" and domain.low is not None and q.base < domain.low


def _meant(q: Quantity, domain: Domain) -> str:
    if domain.low == 0 and q.number < 0:
        return f"was {q.bound}{format_number(-q.number)} {q.unit} meant (no minus)?".replace("  ", " ")
    slipped = q.number.scaleb(-1)
    if domain.high is not None and q.base > domain.high and _is_inside(domain, q.base.scaleb(-1), ""):
        return f"was {q.bound}{format_number(slipped)} {q.unit} meant (decimal point slipped)?"
    return probably_meant(q, lambda base: _is_inside(domain, base, "")) or "read the display again"

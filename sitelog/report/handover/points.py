"""Quantities → the numbers of a picture, all in one unit."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from math import nan

from sitelog.judging.results import Result
from sitelog.notation.quantities import Problem, Quantity, convert, find_unit, format_quantity
from sitelog.notation.quantities.units import Unit, from_base
from sitelog.report.pictures.shapes import PlottedValue


def in_unit(q: Quantity | None, unit: str) -> float | None:
    """The number of a quantity in a unit; None where there is none, or of another kind."""
    if q is None:
        return None
    number = convert(q, unit)
    return None if isinstance(number, Problem) else float(number)


def unit_of(quantities: Iterable[Quantity | None]) -> str:
    """The unit that a picture of these is drawn in: that of the first one."""
    return next((q.unit for q in quantities if q is not None), "")


def expanded(u: float | None, unit: str) -> float | None:
    """A standard uncertainty of the base unit as the expanded one (k = 2) in another unit."""
    known = find_unit(unit)
    if u is None or isinstance(known, Problem):
        return None
    return 2 * u * _per_base(known)


def _per_base(unit: Unit) -> float:
    """How many of a unit one base unit is, for differences: a degree's zero does not matter."""
    return float(from_base(Decimal(1), unit) - from_base(Decimal(0), unit))


def point(result: Result, label: str, unit: str, link: str) -> PlottedValue:
    """What a result is drawn from; what is missing has no number."""
    value = result.value or (result.observation.value if result.observation is not None else None)
    number = in_unit(value, unit)
    known = number is not None and value is not None
    return PlottedValue(
        label,
        number if number is not None else nan,
        in_unit(result.limits.low, unit),
        in_unit(result.limits.high, unit),
        value.bound if known and value is not None else "",
        expanded(result.instrument.u, unit) if known else None,
        result.verdict,
        link,
        format_quantity(value) if known and value is not None else "",
    )

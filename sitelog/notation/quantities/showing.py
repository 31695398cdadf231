"""Quantities in another unit, and as text."""

from decimal import Decimal

from sitelog.notation.quantities.gauges import gauge_name
from sitelog.notation.quantities.kinds import describe_kind
from sitelog.notation.quantities.numerals import format_number, rounded, significant
from sitelog.notation.quantities.quantity import Problem, Quantity
from sitelog.notation.quantities.units import Unit, find_unit, from_base

_SHORT = 6  # an exact converted value of up to so many digits is shown whole


def convert(q: Quantity, unit_spelling: str) -> Decimal | Problem:
    """The number of `q` in another unit of its kind, to 28 digits; the written one in its own.

    Problems: `unit-kind`, and those of `find_unit`.
    """
    if q.unit == "AWG" and unit_spelling.casefold() == "awg":
        return q.number
    unit = find_unit(unit_spelling)
    if isinstance(unit, Problem):
        return unit
    if unit.kind != q.kind:
        return Problem("unit-kind", f"{describe_kind(q.kind)} cannot be shown in {unit_spelling}")
    return q.number if unit.normal == q.unit else from_base(q.base, unit)


def _sensible(converted: Decimal, written: Decimal) -> Decimal:
    """The whole converted value where it is short, else one digit more than written, at least three."""
    plain = converted.normalize()
    if significant(plain) <= _SHORT:
        return plain
    return rounded(converted, max(significant(written) + 1, 3))


def format_quantity(q: Quantity, unit: str = "") -> str:
    """`q` as text in its own unit or in `unit`: `9.8 Nm`, `>999 MΩ`, `4/0 AWG`.

    A unit of another kind, or none known, leaves `q` in its own.
    """
    if unit and unit != q.unit:
        other, converted = find_unit(unit), convert(q, unit)
        if isinstance(other, Unit) and isinstance(converted, Decimal):
            shown = converted if other.normal == q.unit else _sensible(converted, q.number)
            return f"{q.bound}{format_number(shown)} {other.normal}"
    number = gauge_name(q.number) if q.unit == "AWG" else format_number(q.number)
    return f"{q.bound}{number} {q.unit}".rstrip()

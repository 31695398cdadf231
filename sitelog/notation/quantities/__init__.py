"""A value and a unit as written -> a quantity, or what is the matter with it.

Knows no entries and no sheets. Factors come from pint, once: see `generate.py`.
"""

from sitelog.notation.quantities.domains import (
    PART_OF_WHOLE,
    Domain,
    above_zero,
    domain_problem,
    from_zero,
)
from sitelog.notation.quantities.gauges import feet_inches, gauge
from sitelog.notation.quantities.kinds import KINDS, describe_kind
from sitelog.notation.quantities.numerals import format_number, read_number
from sitelog.notation.quantities.parsing import kind_problem, read_quantity
from sitelog.notation.quantities.quantity import Problem, Quantity
from sitelog.notation.quantities.showing import convert, format_quantity
from sitelog.notation.quantities.slips import probably_meant
from sitelog.notation.quantities.units import Unit, difference_in_base, find_unit, in_base

__all__ = [
    "KINDS",
    "PART_OF_WHOLE",
    "Domain",
    "Problem",
    "Quantity",
    "Unit",
    "above_zero",
    "convert",
    "describe_kind",
    "difference_in_base",
    "domain_problem",
    "feet_inches",
    "find_unit",
    "format_number",
    "format_quantity",
    "from_zero",
    "gauge",
    "in_base",
    "kind_problem",
    "probably_meant",
    "read_number",
    "read_quantity",
]

"""Wire gauges and feet with inches: sizes that are written without a unit that multiplies."""

import re
from decimal import Context, Decimal
from functools import lru_cache

from sitelog.notation.lookalikes import plain_value
from sitelog.notation.quantities.numerals import read_number
from sitelog.notation.quantities.quantity import Problem, Quantity
from sitelog.notation.quantities.units import in_base, unit_of

_SMALLEST = 40  # the thinnest gauge that is read; ASTM B258 goes on (from memory)
_THIN = 36  # the gauge of 0.127 mm, from which the formula counts
_CONTEXT = Context(prec=28)
_PI = Decimal("3.141592653589793238462643383280")
# Compiled when first met: start-up is felt on every call.
_GAUGE = r"#? *(?:(0{1,4})|([1-4])/0|([1-9][0-9]?)) *(?:awg)?"
_FEET = r"""(-?)(?:([0-9.,]+) *')? *-? *(?:([0-9.,/½¼¾⅛⅜⅝⅞ -]*[0-9½¼¾⅛⅜⅝⅞]) *")?"""


@lru_cache(maxsize=256)
def gauge(text: str) -> Quantity | Problem:
    """An American wire gauge, `8`, `#8`, `4/0`, `0000` or `8 AWG`, with its area in mm2.

    The number is the gauge itself: 0 for 1/0, -3 for 4/0, at most 40. The diameter of the solid conductor
    is 0.127 mm * 92 ** ((36 - n) / 39). Source: ASTM B258. Problem: `unknown-gauge`.
    """
    found = re.fullmatch(_GAUGE, text.strip().lower()) if len(text) <= 16 else None
    if found is None:
        return _no_gauge(text)
    number = int(found[3]) if found[3] else 1 - (len(found[1]) if found[1] else int(found[2]))
    if number > _SMALLEST:
        return _no_gauge(text)
    steps = _CONTEXT.divide(Decimal(_THIN - number), Decimal(39))
    diameter = _CONTEXT.multiply(Decimal("0.127"), _CONTEXT.power(Decimal(92), steps))
    area = _CONTEXT.divide(_CONTEXT.multiply(_PI, _CONTEXT.power(diameter, Decimal(2))), Decimal(4))
    return Quantity(Decimal(number), "AWG", "area", area, "", text)


def _no_gauge(text: str) -> Problem:
    help_line = "gauges run from 40 to 1, then 1/0 to 4/0"
    return Problem("unknown-gauge", f"{text[:16]} is no wire gauge", help_line)


def gauge_name(number: Decimal) -> str:
    """The gauge as the trade writes it: `8`, `1/0`, `4/0`."""
    return f"{number:f}" if number > 0 else f"{1 - number:f}/0"


def feet_inches(text: str) -> Quantity | Problem:
    """Feet and inches, `3'2"`, `3'`, `2"` or `3' 2-1/2"`, as a length in inches.

    Problems: `bad-number`, and those of `read_number`.
    """
    plain = plain_value(text).strip()
    found = re.fullmatch(_FEET, plain) if len(plain) <= 40 else None
    if found is None or not (found[2] or found[3]):
        return _no_length(text)
    total = Decimal(0)
    for part, inches_each in ((found[2], 12), (found[3], 1)):
        if not part:
            continue
        read = read_number(part.strip())
        if isinstance(read, Problem):
            return read
        if read[0] < 0 or (found[2] and inches_each == 1 and read[0] >= 12):
            return _no_length(text)
        total += read[0] * inches_each
    total = -total if found[1] else total
    return Quantity(total, "in", "length", in_base(total, unit_of("in")), "", text)


def _no_length(text: str) -> Problem:
    return Problem("bad-number", f"{text[:40]} is no length in feet and inches", "write it as 3'2\" or 38 in")

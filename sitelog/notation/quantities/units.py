"""From a unit as written to the unit that is meant, and between numbers in it and in its base.

Nothing here guesses: a spelling whose letter case decides its meaning is a problem that names
both readings.
"""

from decimal import Context, Decimal
from functools import cache, lru_cache

from sitelog.base.frozen import NamedTuple
from sitelog.notation.lookalikes import plain_unit
from sitelog.notation.quantities.factors import SPELLINGS, UNITS
from sitelog.notation.quantities.quantity import Problem

# Written numbers have at most 20 digits or so and factors at most 34, so this multiplies exactly.
_EXACT = Context(prec=60)
_DIVIDE = Context(prec=28)
_LONGEST = 20
_ONE = Decimal(1)

# Prefixes that instruments show alone and people copy.
_BARE_PREFIXES = {"k": ("kΩ", "km"), "M": ("MΩ", "m"), "G": ("GΩ", "g")}
_NEAR = {"r": "ohm", "month": "days", "months": "days", "gauge": "AWG", "ga": "AWG"}


class Unit(NamedTuple):
    """A unit: (number + offset) * numerator / denominator is the value in the base unit of its kind."""

    normal: str
    kind: str
    numerator: Decimal
    denominator: Decimal
    offset: Decimal


NO_UNIT = Unit("", "number", _ONE, _ONE, Decimal(0))


def in_base(number: Decimal, unit: Unit) -> Decimal:
    """A number in `unit` as a number in the base unit of its kind; exact where the factor ends."""
    if unit.offset:
        number = _EXACT.add(number, unit.offset)
    return difference_in_base(number, unit)


def difference_in_base(number: Decimal, unit: Unit) -> Decimal:
    """A difference in `unit` as one in the base unit of its kind: no offset, so 9 degF are 5 degC.

    Exact where the factor ends, else to 28 digits.

    Source: NIST SP 811 (2008), appendix B.8, temperature interval.
    """
    if unit.numerator != _ONE:
        number = _EXACT.multiply(number, unit.numerator)
    return number if unit.denominator == _ONE else _DIVIDE.divide(number, unit.denominator)


def from_base(base: Decimal, unit: Unit) -> Decimal:
    """A number in the base unit as a number in `unit`, to 28 digits."""
    number = _EXACT.multiply(base, unit.denominator)
    if unit.numerator != _ONE:
        number = _DIVIDE.divide(number, unit.numerator)
    return _EXACT.subtract(number, unit.offset) if unit.offset else number


@lru_cache(maxsize=4096)
def find_unit(spelling: str) -> Unit | Problem:
    """The unit a spelling means.

    Exact spellings first, then look-alike characters and a closing full stop, then letter case
    where it decides nothing. Problems: `unknown-unit`, `unit-case`, `unknown-gauge` (for AWG,
    whose sizes are steps and no unit). An empty spelling is the unit of bare numbers.
    """
    normal = SPELLINGS.get(spelling)
    if normal is not None:
        return unit_of(normal)
    if not spelling:
        return NO_UNIT
    if len(spelling) > _LONGEST:
        return Problem("unknown-unit", f"{spelling[:_LONGEST]}... is no unit known here")
    plain = plain_unit(spelling).strip()
    plain = plain.rstrip(".") or plain
    normal = SPELLINGS.get(plain)
    return unit_of(normal) if normal is not None else _in_other_case(plain)


@cache
def unit_of(normal: str) -> Unit:
    """The unit of a normal spelling; KeyError for any other."""
    kind, numerator, denominator, offset = UNITS[normal]
    return Unit(normal, kind, Decimal(numerator), Decimal(denominator), Decimal(offset))


@cache
def _folded() -> dict[str, tuple[str, ...]]:
    """Spelling without letter case -> the accepted spellings."""
    table: dict[str, tuple[str, ...]] = {}
    for spelling in SPELLINGS:
        key = spelling.casefold()
        table[key] = (*table.get(key, ()), spelling)
    return table


def _is_prefixed(spelling: str) -> bool:
    """Whether the first letter is the prefix milli or mega of a unit that people use with both."""
    if spelling[0] not in "mM" or spelling[1:] not in SPELLINGS:
        return False
    kind = UNITS[SPELLINGS[spelling]][0]
    # Nobody logs megametres or megaseconds, so MM, MM2 and MS lose no meaning.
    return kind not in ("length", "area", "time") and kind == UNITS[SPELLINGS[spelling[1:]]][0]


def _in_other_case(plain: str) -> Unit | Problem:
    folded = plain.casefold()
    if folded == "awg":
        return Problem("unknown-gauge", "AWG goes with a gauge", "write it as 8 AWG or 4/0 AWG")
    if plain in _BARE_PREFIXES:
        meant, other = _BARE_PREFIXES[plain]
        message = f"{plain} alone can be read as {meant} or {other}"
        return Problem("unit-case", message, "write the whole unit")
    if folded == "nm" and plain[0] == "n":
        return Problem("unit-case", f"{plain} is nanometre", "Nm is newton metre")
    options = _folded().get(folded, ())
    if not options:
        return _unknown(plain)
    if not any(map(_is_prefixed, options)):
        return unit_of(SPELLINGS[options[0]])
    same = [option for option in options if option[0] == plain[0]]
    # MOhm is megohm, but MOHM is what a caps lock makes of either.
    shouted = plain[0] == "M" and plain[1:].isupper() and len(same) < len(options)
    if same and not shouted:
        return unit_of(SPELLINGS[same[0]])
    return _two_readings(plain, options)


def _two_readings(plain: str, options: tuple[str, ...]) -> Problem:
    rest = options[0][1:]
    return Problem(
        "unit-case",
        f"{plain} can be read as m{rest} (milli) or M{rest} (mega)",
        f"write {' or '.join(options)}",
    )


def _unknown(plain: str) -> Problem:
    from difflib import get_close_matches  # slow to import, and wanted on errors only

    folded = plain.casefold()
    close = get_close_matches(folded, list(_folded()), 1, 0.7)
    nearest = _NEAR.get(folded) or (_folded()[close[0]][0] if close else "")
    help_line = f"was {nearest} meant?" if nearest else ""
    return Problem("unknown-unit", f"{plain} is no unit known here", help_line)

"""Numbers as people write them, read exactly and shown plainly."""

import re
from decimal import Context, Decimal
from functools import lru_cache

from sitelog.notation.lookalikes import plain_value
from sitelog.notation.quantities.quantity import Problem

_MOST_DIGITS = 20
_LONGEST = 40
_FRACTION = Context(prec=28)

_PLAIN = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
# The rarer forms are compiled when first met: start-up is felt on every call.
_COMMA = r"([+-]?[0-9]*),([0-9]+)"
_GROUPED = r"[+-]?[1-9][0-9]{0,2}([,.'_ ])[0-9]{3}(?:\1[0-9]{3})*(?:(?!\1)[.,][0-9]+)?"
_PARTS = r"([+-]?)(?:([0-9]+)[- ])?([0-9]+)/([0-9]+)"
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_VULGAR_SIGN = f"([0-9]?)[- ]?([{''.join(_VULGAR)}])"


@lru_cache(maxsize=16384)
def read_number(text: str) -> tuple[Decimal, tuple[Problem, ...]] | Problem:
    """The number written, with infos about it, or the problem that keeps it from being read.

    Reads `12`, `-5.4`, `12,1` (info `decimal-comma`), `5/8`, `1-1/2` and `1½`; fractions that do
    not end are kept to 28 digits. Refuses `1,000` (`thousands-separator`), powers of ten, and
    what is no number or has more than 20 digits (`bad-number`). Never raises.
    """
    if _PLAIN.fullmatch(text) and len(text) <= _MOST_DIGITS:
        return Decimal(text), ()
    if len(text) > _LONGEST:
        return _bad(text, "is too long for a number")
    plain = plain_value(text).strip()
    if sum(map(str.isdigit, plain)) > _MOST_DIGITS:
        return _bad(text, "has too many digits", f"write at most {_MOST_DIGITS}")
    if _PLAIN.fullmatch(plain):
        return Decimal(plain), ()
    if re.fullmatch(_GROUPED, plain):
        return _grouped(text, plain)
    comma = re.fullmatch(_COMMA, plain)
    if comma:
        number = Decimal(f"{comma[1]}.{comma[2]}")
        return number, (Problem("decimal-comma", f"{text} was read as {number:f}", f"write {number:f}"),)
    plain = re.sub(_VULGAR_SIGN, _spelt_out, plain)
    parts = re.fullmatch(_PARTS, plain)
    return _fraction(text, parts) if parts else _not_a_number(text, plain)


def _bad(text: str, why: str, help_line: str = "") -> Problem:
    shown = text if len(text) <= _LONGEST else text[:_LONGEST] + "..."
    return Problem("bad-number", f"{shown} {why}", help_line)


def _grouped(text: str, plain: str) -> Problem:
    """`1,000` can be one or a thousand; with a second mark, as in `1,000.5`, only the latter."""
    mark = next(character for character in plain if character in ",.'_ ")
    large = plain.replace(mark, "").replace(",", ".")
    if mark == "," and plain.count(",") == 1 and "." not in plain:
        small = plain.replace(",", ".")
        return Problem(
            "thousands-separator", f"{text} can be read as {large} or {small}", f"write {large} or {small}"
        )
    return Problem("thousands-separator", f"{text} has a thousands separator", f"write {large}")


def _spelt_out(found: re.Match[str]) -> str:
    before = f"{found[1]}-" if found[1] else ""
    return before + _VULGAR[found[2]]


def _fraction(text: str, parts: re.Match[str]) -> tuple[Decimal, tuple[Problem, ...]] | Problem:
    above, below = int(parts[3]), int(parts[4])
    if below == 0:
        return _bad(text, "divides by nothing", "a wire size is written as 4/0 AWG")
    if parts[2] and above >= below:
        return _bad(text, "is no mixed fraction", "write it as 1-1/2 or 1.5")
    whole = int(parts[2] or 0) * below + above
    number = _FRACTION.divide(Decimal(whole), Decimal(below))
    return (-number if parts[1] == "-" else number), ()


def _not_a_number(text: str, plain: str) -> Problem:
    if re.fullmatch(r"[+-]?[0-9.]+[eE][+-]?[0-9]+", plain):
        return _bad(text, "is written as a power of ten", "write it out, as 1000")
    return _bad(text, "is no number") if text.strip() else Problem("bad-number", "a number is wanted here")


def significant(number: Decimal) -> int:
    """How many digits were written, leading noughts left out: 12.0 has three, 0.08 has one."""
    return len(number.as_tuple().digits)


def rounded(number: Decimal, digits: int) -> Decimal:
    """The number to `digits` significant digits, its whole part never cut."""
    if not number:
        return Decimal(0)
    exponent = min(number.adjusted() - digits + 1, 0)
    return number.quantize(Decimal((0, (1,), exponent)), context=Context(prec=80))


def format_number(number: Decimal) -> str:
    """Plain digits as written, without an exponent or a negative nought; at most 20 or so digits."""
    if significant(number) > _MOST_DIGITS:
        number = rounded(number, 12)
    text = f"{number:f}"
    return text[1:] if not number and text[0] == "-" else text

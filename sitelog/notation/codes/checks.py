"""The check digits that a sheet can name for its serials, tested by the library python-stdnum.

None of them proves a serial: each lets some slips through. The page of the finding `check-digit` says which.
"""

from __future__ import annotations

from collections.abc import Callable

from sitelog.base.frozen import NamedTuple
from sitelog.notation.codes.code import MissingLibraryError

_DIGITS = "0123456789"
_ALPHANUMERIC = _DIGITS + "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_SEPARATORS = str.maketrans("", "", " -./")  # printed to help the eye, and no part of the number


class Scheme(NamedTuple):
    """One scheme: how many characters check, which may stand in front of them, and which may check."""

    check: int
    body: str
    last: str


SCHEMES: dict[str, Scheme] = {
    "damm": Scheme(1, _DIGITS, _DIGITS),
    "gs1": Scheme(1, _DIGITS, _DIGITS),
    "luhn": Scheme(1, _DIGITS, _DIGITS),
    "mod-11-10": Scheme(1, _DIGITS, _DIGITS),
    "mod-11-2": Scheme(1, _DIGITS, _DIGITS + "X"),
    "mod-37-2": Scheme(1, _ALPHANUMERIC, _ALPHANUMERIC + "*"),
    "mod-37-36": Scheme(1, _ALPHANUMERIC, _ALPHANUMERIC),
    "mod-97-10": Scheme(2, _ALPHANUMERIC, _DIGITS),
    "verhoeff": Scheme(1, _DIGITS, _DIGITS),
}
"""By the name a sheet uses: Luhn (ISO/IEC 7812-1), GS1 (General Specifications 7.9.1), ISO/IEC 7064,
and the schemes of Verhoeff and Damm as the library has them."""


def fault(scheme: str, serial: str) -> str:
    """What is wrong with a serial's check characters, as a sentence; empty where they are right.

    Hyphens, points, slashes and blanks are left out, small letters count as capitals. Raises KeyError for
    an unknown scheme, and MissingLibraryError.
    """
    alphabet = SCHEMES[scheme]
    text = serial.translate(_SEPARATORS).upper()
    body, last = text[: -alphabet.check], text[-alphabet.check :]
    if not body:
        return f"`{serial}` is too short for a check digit"
    strange = next((sign for sign in body if sign not in alphabet.body), "")
    strange = strange or next((sign for sign in last if sign not in alphabet.last), "")
    if strange:
        return f"`{serial}` has `{strange}`, which {scheme} does not know"
    right = _calculator(scheme)(body)
    if last == right:
        return ""
    what = "check digits are" if alphabet.check > 1 else "check character is"
    return f"`{serial}`: the {what} {last}, and by {scheme} should be {right}"


def _calculator(scheme: str) -> Callable[[str], str]:
    """The function that gives the check characters of what stands in front of them."""
    try:
        from stdnum import damm, ean, luhn, verhoeff
        from stdnum.iso7064 import mod_11_2, mod_11_10, mod_37_2, mod_37_36, mod_97_10
    except ImportError as error:
        raise MissingLibraryError("python-stdnum") from error
    found: dict[str, Callable[[str], str]] = {
        "damm": damm.calc_check_digit,
        "gs1": ean.calc_check_digit,
        "luhn": luhn.calc_check_digit,
        "mod-11-10": mod_11_10.calc_check_digit,
        "mod-11-2": mod_11_2.calc_check_digit,
        "mod-37-2": mod_37_2.calc_check_digit,
        "mod-37-36": mod_37_36.calc_check_digit,
        "mod-97-10": mod_97_10.calc_check_digits,
        "verhoeff": verhoeff.calc_check_digit,
    }
    return found[scheme]

"""Raw text of a barcode reader → a code: by its symbology identifier, its envelope, or its look."""

from __future__ import annotations

import re

from sitelog.notation.codes.code import GS, Code
from sitelog.notation.codes.envelope import HEADER, read_envelope
from sitelog.notation.codes.gs1 import is_element_string, read_gs1, read_link, wrong_digit

# ISO/IEC 15424: `]`, the symbology's letter, a modifier. These five say that GS1 element strings follow.
_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_GS1 = ("]C1", "]e0", "]d2", "]Q3", "]J1")
_EAN = "]E"

# Nothing but a serial: 21 and up to 20 characters of GS1's set (GS1 General Specifications, table of
# application identifiers; from memory). A letter behind the 21 tells it from a serial of digits alone.
_SERIAL_ALONE = re.compile(r"21([A-Za-z][!-~]{3,19})")

_TRADE_ITEM = re.compile(r"\d{8}|\d{12,14}")


def read_code(raw: str) -> Code:
    """The identifiers in what a reader typed. Raises MissingLibraryError where GS1 needs its library.

    A code without any identifier is the serial as it stands, but for the number of a trade item, which
    every box of its sort has, and for `21QX2607-00420`: without a symbology identifier 21 in front of a
    letter is the application identifier of a serial. Whoever has serials that begin so sets the reader to
    send the symbology identifier, such as `]C0`.
    """
    text = raw.strip(" \t\r\n")
    said = _SYMBOLOGY.match(text)
    symbology = said[0] if said else ""
    text = text[len(symbology) :]
    if not text.strip(GS):
        return Code(trouble="the code is empty", help="scan it again")
    if symbology in _GS1 or text[0] == GS:
        return read_gs1(text)
    if text.startswith(HEADER):
        return read_envelope(text)
    if text.startswith("[)"):
        help = "set the reader to send the separators of the code: record 0x1E, group 0x1D"
        return Code(trouble="the code's envelope has lost its separators", help=help)
    if text.lower().startswith(("http://", "https://")):
        return read_link(text)
    if symbology.startswith(_EAN):
        return _trade_item(text)
    if is_element_string(text):
        return read_gs1(text)
    if not symbology and (alone := _SERIAL_ALONE.fullmatch(text)):
        return Code((("21", alone[1]),), serial=alone[1])
    if _TRADE_ITEM.fullmatch(text) and not wrong_digit(text):
        return _trade_item(text)
    if any(ord(sign) < 32 for sign in text):
        return Code(trouble="control characters stand in a code that has no known form", help="scan it again")
    return Code((("", text),), serial=text)


def _trade_item(text: str) -> Code:
    wrong = wrong_digit(text)
    return Code((("01", text),), item=text, digits=(wrong,) if wrong else ())

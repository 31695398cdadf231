"""Messages in the envelope of ISO/IEC 15434, with the data identifiers of ANSI MH10.8.2.

The envelope from memory of ISO/IEC 15434:2019: `[)>` RS, then each format as two digits, its data and
RS, and EOT at the end. Format 06 holds fields with data identifiers, format 05 GS1 element strings, both
with GS between fields.
"""

from __future__ import annotations

import re

from sitelog.notation.codes.code import EOT, GS, RS, Code
from sitelog.notation.codes.gs1 import read_gs1

HEADER = "[)>" + RS

# A data identifier is a letter with up to three digits in front (ANSI MH10.8.2, ISO/IEC 15418).
_FIELD = re.compile(r"(\d{0,3}[A-Z])(.+)", re.DOTALL)

# Serials, the most telling first: S; 25S, unique world-wide with its issuer in front; 18S, with the
# maker's code in front. S, 1P, P and 1T as given by ANSI MH10.8.2; 25S and 18S from memory of it.
_SERIALS = ("S", "25S", "18S")
_ITEMS = ("1P", "P")
_LOTS = ("1T",)


def read_envelope(text: str) -> Code:
    """The fields of every format in a message. The last separators may be missing: readers drop them."""
    found = Code()
    for block in text[len(HEADER) :].rstrip(EOT).split(RS):
        if not block:
            continue
        number, data = block[:2], block[2:].strip(GS)
        if number == "06":
            code = _identified(data)
        elif number == "05":
            code = read_gs1(data)
        else:
            code = Code(trouble=f"the envelope holds format {number!r}; 05 and 06 can be read")
        if code.trouble:
            return code
        found = Code(
            found.fields + code.fields,
            found.serial or code.serial,
            found.item or code.item,
            found.lot or code.lot,
            found.digits + code.digits,
        )
    return found if found.fields else Code(trouble="the envelope is empty", help="scan it again")


def _identified(data: str) -> Code:
    fields: list[tuple[str, str]] = []
    for part in data.split(GS):
        field = _FIELD.fullmatch(part)
        if field is None:
            return Code(trouble=f"{part!r} begins with no data identifier", help="scan it again")
        fields.append((field[1], field[2].strip()))
    first = dict(reversed(fields))
    return Code(
        tuple(fields),
        next((first[name] for name in _SERIALS if name in first), ""),
        next((first[name] for name in _ITEMS if name in first), ""),
        next((first[name] for name in _LOTS if name in first), ""),
    )

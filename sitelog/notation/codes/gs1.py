"""GS1 element strings, their printed form with brackets, and GS1 Digital Links, read by the library biip."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

from sitelog.notation.codes.code import GS, Code, MissingLibraryError

if TYPE_CHECKING:
    from biip.gs1_element_strings import GS1ElementString

# GS1 General Specifications, table of application identifiers: 21 serial number, 8004 individual asset,
# 01 trade item, 10 batch or lot. A logistic unit (00) is a parcel and never the serial of what is in it.
_SERIALS = ("21", "8004")
_ITEM, _LOT = "01", "10"

_BRACKETS = re.compile(r"\(\d{2,4}\)")
_BEGINNING = re.compile(r"(?:01\d{14}|00\d{18})")


def is_element_string(text: str) -> bool:
    """Whether text without a symbology identifier is GS1's: in brackets, with a separator, or a trade item
    or parcel number with its own check digit in front, or with a serial behind it."""
    if _BRACKETS.match(text) or GS in text:
        return True
    begins = _BEGINNING.match(text)
    return begins is not None and (not wrong_digit(begins[0][2:]) or text.startswith("21", begins.end()))


def wrong_digit(number: str) -> str:
    """What is wrong with the check digit of a GTIN or an SSCC, the last digit; empty where it is right.

    GS1 General Specifications, section 7.9.1: weights 3 and 1 from the right, modulo 10.
    """
    total = sum(int(digit) * (3 if at % 2 == 0 else 1) for at, digit in enumerate(reversed(number[:-1])))
    right = -total % 10
    if number[-1] == str(right):
        return ""
    return f"`{number}`: the check digit is {number[-1]}, and should be {right}"


def read_gs1(text: str) -> Code:
    """One GS1 message, with or without brackets."""
    try:
        from biip import ParseConfig, ParseError
        from biip.gs1_messages import GS1Message
    except ImportError as error:
        raise MissingLibraryError("biip") from error
    # A date that cannot be is no reason to lose the serial beside it.
    config = ParseConfig(gs1_element_strings_verify_date=False)
    try:
        parse = GS1Message.parse_hri if text.startswith("(") else GS1Message.parse
        found = _code(parse(text.strip(GS), config=config).element_strings)
    except ParseError:
        return _unread(text)
    return found if found.fields else _unread(text)


def read_link(text: str) -> Code:
    """A GS1 Digital Link: a web address with the same identifiers in it."""
    try:
        from biip import ParseError
        from biip.gs1_digital_link_uris import GS1DigitalLinkURI
    except ImportError as error:
        raise MissingLibraryError("biip") from error
    try:
        return _code(GS1DigitalLinkURI.parse(text).element_strings)
    except (ParseError, ValueError):  # the second for what is no web address at all
        help = "scan the label that holds the serial, or type it: `serial PLACE SERIAL`"
        return Code(trouble="the code is a web address without GS1 identifiers", help=help)


def _code(strings: Iterable[GS1ElementString]) -> Code:
    fields = tuple((string.ai.ai, string.value) for string in strings)
    first = dict(reversed(fields))
    wrong = (wrong_digit(value) for ai, value in fields if ai in ("00", "01", "02") and value.isdecimal())
    return Code(
        fields,
        next((first[ai] for ai in _SERIALS if ai in first), ""),
        first.get(_ITEM, ""),
        first.get(_LOT, ""),
        tuple(filter(None, wrong)),
    )


def _unread(text: str) -> Code:
    shown = text.replace(GS, " ").strip()
    help = "scan it again, or type the serial"
    if GS not in text and "(" not in text:
        help += "; if a group separator (0x1D) was lost, set the reader to send it"
    return Code(trouble=f"`{shown}` is no GS1 element string", help=help)

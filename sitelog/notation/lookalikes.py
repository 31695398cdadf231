"""Characters that look like plain ones: the one table, for logs, questions, numbers, units and trials.

Phones, word processors and pages on the web put curly quotes, no-break blanks and other minus signs where
an installer typed plain ones. Each is replaced by one character, so every column stays what it was.
"""

from __future__ import annotations

BLANKS = (
    "\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a"
    "\u202f\u205f\u3000\u000b\u000c\r\u200b\ufeff"
)
"""What stands for a blank; the tab is not among them, for a grammar reads it as it is."""

REMARK_DASHES = "-–—"
"""The dashes that a remark may begin with: hyphen, en dash, em dash."""

_STANDS_FOR = {
    " ": BLANKS,
    '"': "\u201c\u201d\u201e\u201f\u2033\u00ab\u00bb",
    "'": "\u2018\u2019\u201a\u2032",
    "-": "\u2212\u2010\u2011\ufe63\uff0d",  # minus, hyphen, no-break hyphen, small and full-width hyphen
    "°": "\u02da\u00ba",  # ring above, masculine ordinal
    "\u03a9": "\u2126",  # Greek omega for the ohm sign
    "\u00b5": "\u03bc",  # micro sign for the Greek mu
    "\u00b7": "\u22c5\u2219",  # middle dot for the dot operator and the bullet operator
    "\u00d7": "\u2715\u2a2f",  # times sign for the multiplication cross and the vector product
}
# Within a line these have a meaning of their own: an en dash begins a remark.
_WITHIN_A_VALUE = {"-": "\u2013", "/": "\u2044", "\u00b7": "\u2022"}


def _table(*parts: dict[str, str]) -> dict[int, str]:
    return {ord(sign): meaning for part in parts for meaning, signs in part.items() for sign in signs}


_LINE = _table(_STANDS_FOR)
_VALUE = _table(_STANDS_FOR, _WITHIN_A_VALUE)
_UNIT = _VALUE | dict.fromkeys(map(ord, BLANKS), "")

FOOT_MARKS = frozenset("'\"" + _STANDS_FOR["'"] + _STANDS_FOR['"'])
"""The signs of feet and inches, plain and curly."""


def plain(line: str) -> str:
    """A line or a question with its look-alike characters replaced; as long as before."""
    return line if line.isascii() else line.translate(_LINE)


def plain_value(text: str) -> str:
    """A number, or a length in feet and inches, with its look-alikes replaced; as long as before.

    Here an en dash is a minus sign and a fraction slash a slash.
    """
    return text if text.isascii() else text.translate(_VALUE)


def plain_unit(spelling: str) -> str:
    """A unit with its look-alikes replaced and its no-break blanks left out."""
    return spelling if spelling.isascii() else spelling.translate(_UNIT)

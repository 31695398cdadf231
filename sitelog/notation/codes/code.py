"""What a code turned out to hold."""

from __future__ import annotations

from sitelog.base.frozen import NamedTuple

GS, RS, EOT = "\x1d", "\x1e", "\x04"
"""Separators of fields, of records, and the end of a message (ISO/IEC 15434:2019)."""


class MissingLibraryError(Exception):
    """A library that is not installed; the message names it."""


class Code(NamedTuple):
    """The identifiers of one code. `trouble` says why it could not be read at all, `digits` which of its
    check digits are wrong; both are empty where nothing is the matter.

    `fields` are all of it, in order, as (identifier, value): `(01)` and `(21)` of GS1, `S` and `1P` of
    ANSI MH10.8.2, or one without an identifier where the code is plain.
    """

    fields: tuple[tuple[str, str], ...] = ()
    serial: str = ""
    item: str = ""  # the sort of thing: a GTIN, or a part number
    lot: str = ""
    digits: tuple[str, ...] = ()
    trouble: str = ""
    help: str = ""

"""A kind is one row: all that the program knows of a word that begins a line, for whoever looks it up.

The rows stand beside the readers, each in the file of its family, and are collected in `kinds/__init__.py`.
No other room compares anything with the name of a kind: it asks the row.
"""

from __future__ import annotations

from sitelog.base.frozen import NamedTuple

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from typing import Any, TypeAlias

    from sitelog.language.kinds.base import Condition, Place, Reader, Record
    from sitelog.language.kinds.requirement import Requirement
    from sitelog.notation.quantities import Quantity

    Draft: TypeAlias = (
        "tuple[str, str, str, str, Quantity | None, Quantity | None, str, tuple[Condition, ...], int, int]"
    )
    """What an observation says of itself: kind, what, place, mode, value, second value, word, conditions, and
    the stretch of the line (from 0, the end exclusive)."""

ALWAYS = "always"
WITHOUT_REMARK = "without a remark"
NEVER = "never"
"""Whether a record may be made again of an earlier line with the same words (`files/records/repeats.py`)."""


class LogKind(NamedTuple):
    """A kind of entry in a log.

    Attributes:
        word: the word that begins the line, as in `grammar/log.lark`.
        read: makes the record; None where the line holds nothing that could be one, which it has said.
        makes: the kind of the observations it makes, as a sheet calls it; empty where it makes none.
        observe: what one record says was done, a draft for each place. A draft that holds a blank for its
            word, or nothing at all in a line that has a blank, is dropped by `drafts_of`.
        counts_with_blanks: an entry with a blank says enough to count: a step with its wait left out.
        waits: what a line with a blank says once it is filled in, is named by `makes` and its places; `scan`
            and others that no blank log holds say False.
        repeats: whether a line that repeats may be read from memory. `WITHOUT_REMARK` where a record or a
            finding depends on the remark; `NEVER` where hardly two entries say the same, or where the
            record depends on what is installed.
        sized: its sizes may begin with a number sign, as `#8` does, which begins a comment as well.
        free: a person writes words of their own in it.
        example: a line that can be read.
    """

    word: str
    read: Callable[[Reader], Record | None]
    example: str
    makes: str = ""
    observe: Callable[[Any], Iterator[Draft]] | None = None
    counts_with_blanks: bool = False
    waits: bool = False
    repeats: str = ALWAYS
    sized: bool = False
    free: bool = False


class SheetKind(NamedTuple):
    """A kind of line with which a sheet asks for something.

    Attributes:
        word: the word that begins the line, as in `grammar/sheet.lark`; observations have it as their kind.
        read: makes the requirements, one for each place.
        judged: the way it is judged, one of `WAYS` in `judging/values.py`.
        blank: what a blank log holds for it: a template of `judging/blank_log.py`, whose fields are listed
            there. One with `{places}` holds up to twelve places in a line, any other a single one.
        example: a line that can be read.
        title: what findings call it.
        subject: the subject of questions that its results belong to.
        placed: it is asked at places or not at all: a range that could not be read asks for nothing.
        called: what a name behind `after`, `before`, `reopens`, `without` or in a stage means of it: its
            `what`, its `place`, its place or the word of its `kind`, or `nothing`.
        has_what: one `what` at several places is asked apart: `without reading continuity a/b`.
        plain: people call it by what and place alone, without its word in front.
        unknown: which finding a name gets that no sheet asks: `place` (any that is not asked), `place of
            what` (any at which this `what` is not asked), `name` (only one that is nearly one still
            missing), `step`.
        measures: the kind of quantity that it is measured in with a tool; `by name` where its `what` says
            so; empty where no tool stands behind it.
        limits_are_values: its tool must reach its limits. A spread's limit is a difference.
        replaces: a newer observation under the same conditions stands in place of an older one.
        worked_on: done again is a rework to be counted.
        symmetric: A/B is the same as B/A.
        outlasts_parts: it stays as it is when another part comes to its place: a hole, a cable.
    """

    word: str
    read: Callable[[Reader], list[Requirement]]
    judged: str
    blank: str
    example: str
    title: str = ""
    subject: str = ""
    placed: bool = False
    called: str = "place"
    has_what: bool = False
    plain: bool = False
    unknown: str = "name"
    measures: str = ""
    limits_are_values: bool = True
    replaces: bool = False
    worked_on: bool = False
    symmetric: bool = False
    outlasts_parts: bool = False


LOG: dict[str, LogKind] = {}
"""The kinds of entry by their words; filled by `kinds/__init__.py`, which imports every family."""
SHEET: dict[str, SheetKind] = {}
"""What a sheet can ask, by its words; filled in the same place."""


def row_of(kind: str) -> SheetKind:
    """The row of an observation or a result; an empty one for what no sheet asks: a device, a state."""
    return SHEET.get(kind, _NOT_ASKED)


def draft_at(kind: str, what: str, place: Place, mode: str = "final", word: str = "") -> Draft:
    """Something done at a place, without a value."""
    name, start, end = place
    return kind, what, name, mode, None, None, word, (), start, end


def _asks_nothing(reader: Reader) -> list[Requirement]:
    return []


_NOT_ASKED = SheetKind("", _asks_nothing, "", "", "", called="nothing", unknown="")


def is_blank(name: str) -> bool:
    """Whether a name is still to be filled in: `___`."""
    return len(name) > 1 and not name.strip("_")


def drafts_of(record: Record) -> list[Draft]:
    """What a record says was done: a draft for each observation, none for what is still to be filled in."""
    entry = record.head.entry
    row = LOG[entry.kind]
    if row.observe is None:
        return []
    drafts = list(row.observe(record))
    if row.counts_with_blanks or "__" not in entry.text:
        return drafts
    hollow = entry.body is not None and any(token.type == "HOLLOW" for token in entry.body.tokens())
    return [draft for draft in drafts if not _to_fill_in(draft, hollow)]


def _to_fill_in(draft: Draft, hollow: bool) -> bool:
    _, _, _, mode, value, _, word, *_ = draft
    return is_blank(word) or (hollow and mode == "final" and value is None and not word)

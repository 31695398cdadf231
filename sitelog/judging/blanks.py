"""Blanks of a form: which line waits for what is still missing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from sitelog.base.frozen import NamedTuple
from sitelog.judging.evidence import Key, SheetNames
from sitelog.judging.site import LogEntry, SiteLog
from sitelog.language.kinds import LOG, SHEET
from sitelog.language.kinds.base import Record
from sitelog.language.kinds.requirement import Requirement


class Blank(NamedTuple):
    """One blank that nobody has filled in: the entry, the stretch of it, and its conditions."""

    written: LogEntry
    start: int
    end: int
    conditions: tuple[str, ...]


def blanks(site: SiteLog, names: SheetNames) -> dict[Key, list[Blank]]:
    """The lines with a `___`, by what each of them is to say. A blank is no record, only a place for one."""
    found: dict[Key, list[Blank]] = defaultdict(list)
    for one in [one for one in site.entries if "__" in one.entry.text]:
        body = one.entry.body
        if one.record is None or body is None:
            continue
        hollow = next((token for token in body.tokens() if token.type == "HOLLOW"), None)
        if hollow is None or (one.file, one.entry.number) in site.struck.lines:
            continue
        filled = {names.observation(obs) for obs in one.observations}
        conditions = tuple(condition.key for condition in getattr(one.record, "conditions", ()))
        for kind, what, place in _waiting(one.record):
            key = Key(kind, what.casefold(), names.place(place))
            if key not in filled:
                found[key].append(Blank(one, hollow.start, hollow.end, conditions))
    return found


def _waiting(record: Record) -> Iterator[tuple[str, str, str]]:
    """Kind, what and place of everything that an entry would say with its blanks filled in."""
    row = LOG[record.head.entry.kind]
    if not row.waits:
        return
    whats = [""]
    if SHEET[row.makes].called == "what":
        seen = getattr(record, "whats", None)
        whats = [what.name for what in seen] if seen is not None else [getattr(record, "what", "")]
    places = [place.name for place in getattr(record, "places", ())] or [getattr(record, "place", "")]
    yield from ((row.makes, what, place) for what in whats for place in places)


def waiting_for(one: Requirement, found: dict[Key, list[Blank]], names: SheetNames) -> Blank | None:
    """The blank that is to be filled in for a requirement; None where no line waits for it."""
    wanted = one.condition.key if one.condition is not None else ""
    for blank in found.get(names.asked(one), ()):
        if not wanted or not blank.conditions or wanted in blank.conditions:
            return blank
    return None

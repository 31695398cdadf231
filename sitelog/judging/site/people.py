"""Who leads when: the leads that a log names in its header and under each `visit` line."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.language.kinds.base import Record
from sitelog.language.kinds.header import Crew, Visit


def leads_named(records: Sequence[Record | None]) -> dict[int, dict[str, str]]:
    """The names of leads as spelt, by their small letters, for each `visit` line by its number, 0 the header.

    A visit holds those named from its line down to the next `visit` line.
    """
    found: dict[int, dict[str, str]] = {0: {}}
    here = found[0]
    for record in records:
        if isinstance(record, Visit):
            here = found[record.head.entry.number] = {}
        elif isinstance(record, Crew) and record.role == "lead":
            here.setdefault(record.name.casefold(), record.name)
    return found

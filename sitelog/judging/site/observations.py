"""From records to observations: each one thing done at one place, with the moment and the person."""

from __future__ import annotations

from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.language.kinds.base import Clock, Condition, Record
from sitelog.language.kinds.kind import drafts_of
from sitelog.language.syntax.tokens import Entry
from sitelog.notation.quantities import Quantity


class Moment(NamedTuple):
    """When in the job something stands: the visit (from 0), the day, the time as written, and a key
    that orders everything of one site (day, seconds, then the order of writing).

    `backwards`: its time is earlier than that of an entry above, so nobody knows what came first.
    """

    visit: int
    day: date | None
    clock: Clock | None
    order: tuple[int, int, int]
    zone: str = ""
    backwards: bool = False


ObservationId = tuple[str, int, str, str]
"""What tells one mark of a site from every other: file, line, what and place."""


class Observation(NamedTuple):
    """One thing done, measured or seen at one place.

    `kind` is the sheet's word for it (joint, hole, reading, look, step, part, dead, set, photo,
    cable, series, registered, ref); `mode` is `final`, or what keeps it from counting: `pre`,
    `held`, `moved`, `loosed`, `not-tested`, `removed`; `click` counts.
    """

    kind: str
    what: str
    place: str
    mode: str
    value: Quantity | None
    second: Quantity | None
    word: str
    conditions: tuple[Condition, ...]
    start: int
    end: int
    record: Record
    moment: Moment
    by: str
    assumed: bool  # nobody was named, so the lead stands for it
    in_use: tuple[str, ...]

    @property
    def live(self) -> bool:
        """Whether it says how the thing is now, rather than only that it was checked or put off."""
        return self.mode in ("final", "click")

    @property
    def id(self) -> ObservationId:
        """What tells it from every other mark."""
        return self.record.head.file, self.record.head.entry.number, self.what, self.place

    @property
    def line(self) -> int:
        """The line it is written in."""
        return self.record.head.entry.number

    @property
    def file(self) -> str:
        """The file it is written in."""
        return self.record.head.file

    @property
    def condition_key(self) -> str:
        """Equal for marks made under the same conditions."""
        return ", ".join(sorted(condition.key for condition in self.conditions)) if self.conditions else ""


class EntryContext(NamedTuple):
    """What surrounds an entry: the moment, the person and the tools in use."""

    moment: Moment
    by: str
    assumed: bool
    in_use: tuple[str, ...]


_new = tuple.__new__  # three times as fast as calling a NamedTuple


class LogEntry(NamedTuple):
    """One entry with what surrounds it, in the order of the job."""

    entry: Entry
    file: str
    record: Record | None
    context: EntryContext
    observations: tuple[Observation, ...]
    signed: bool  # a signature stands below it


def observations_of(record: Record, around: EntryContext) -> tuple[Observation, ...]:
    """The observations that one record makes; none where it only speaks of the job."""
    return tuple([_new(Observation, (*draft, record, *around)) for draft in drafts_of(record)])

"""From records to marks: one thing done at one place, with the moment and the person."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.language.kinds.base import Clock, Condition, Place, Record
from sitelog.language.kinds.electric import Cable, Device, Series
from sitelog.language.kinds.hole import Hole
from sitelog.language.kinds.look import Look, Setting
from sitelog.language.kinds.paper import Photo, Ref
from sitelog.language.kinds.part import Registered, Removed, Scan, Serial, Swap
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.step import Did, Lock
from sitelog.language.kinds.torque import Loosed, Torque
from sitelog.language.syntax.tokens import Entry
from sitelog.notation.quantities import Quantity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias


class Moment(NamedTuple):
    """When in the job something stands: the visit (from 0), the day, the time as written, and a key
    that orders everything of one site (day, seconds, then the order of writing).

    `earliest` and `latest` bound the moment in seconds of the day; None where no time is known.
    """

    visit: int
    day: date | None
    clock: Clock | None
    order: tuple[int, int, int]
    zone: str = ""


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
    """The marks that one record makes; none where it only speaks of the job."""
    done = _DONE.get(record.__class__)
    if done is None:
        return ()
    return tuple([_new(Observation, (*one, record, *around)) for one in done(record)])


_Done: TypeAlias = (
    "tuple[str, str, str, str, Quantity | None, Quantity | None, str, tuple[Condition, ...], int, int]"
)
"""What a mark says of itself: its fields but for the record and what surrounds that."""


def _at(kind: str, what: str, place: Place, mode: str = "final", word: str = "") -> _Done:
    """Something done at a place, without a value."""
    name, start, end = place
    return kind, what, name, mode, None, None, word, (), start, end


def _torque(one: Torque) -> Iterator[_Done]:
    mode, values = one.mode, one.values
    if not values:
        if mode not in ("final", "click"):
            yield from [_at("joint", "", place, mode) for place in one.places]
        return
    for place, (quantity, start, end, _) in zip(one.places, values, strict=False):
        if quantity is not None or mode not in ("final", "click"):  # else a blank, or said already
            yield "joint", "", place.name, mode, quantity, None, "", (), start, end


def _hole(one: Hole) -> Iterator[_Done]:
    for at, place in enumerate(one.places):
        if one.mode != "final":
            yield _at("hole", "", place, one.mode)
            continue
        (width, start, end, _), depth = one.diameters[at], one.depths[at].quantity
        if width is not None and depth is not None:
            yield "hole", "", place.name, one.mode, width, depth, "", (), start, end


def _reading(one: Reading) -> Iterator[_Done]:
    dead = one.what == "dead" and one.head.entry.kind == "dead"
    kind, what = ("dead", "") if dead else ("reading", one.what)
    values, mode, answer, conditions = one.values, one.mode, one.answer, one.conditions
    for at, (name, start, end) in enumerate(one.places):
        quantity = None
        if values:
            quantity, start, end, _ = values[at]
        if quantity is not None or mode != "final" or answer:
            yield kind, what, name, mode, quantity, None, answer, conditions, start, end


def _look(one: Look) -> Iterator[_Done]:
    if one.answer or one.mode != "final":
        for seen in one.whats:
            for place in one.places or (Place("", seen.start, seen.end),):
                yield _at("look", seen.name, place, one.mode, one.answer)


def _setting(one: Setting) -> Iterator[_Done]:
    yield "set", one.what, one.place, "final", one.quantity, None, one.value, (), *one.at


def _did(one: Did) -> Iterator[_Done]:
    for name, start, end in one.places:
        yield "step", name, "", one.mode, one.waited, None, "", (), start, end


def _lock(one: Lock) -> Iterator[_Done]:
    state = "locked" if one.locked else "unlocked"
    return (_at("state", state, place, word=one.label) for place in one.places)


def _serial(one: Serial | Scan) -> Iterator[_Done]:
    for place, (serial, start, end) in zip(one.places, one.serials, strict=False):  # a scan may hold none
        if serial:
            yield _at("part", "", Place(place.name, start, end), word=serial)


def _removed(one: Removed) -> Iterator[_Done]:
    for at, place in enumerate(one.places):
        yield _at("part", "", place, "removed", one.serials[at] if one.serials else "")


def _swap(one: Swap) -> Iterator[_Done]:
    if not _is_blank(one.new):
        yield _at("part", "", one.places[0], "swap", one.new)


def _registered(one: Registered) -> Iterator[_Done]:
    if not _is_blank(one.reference):
        for place in one.places:
            yield _at("registered", "", place, word=one.reference)


def _photo(one: Photo) -> Iterator[_Done]:
    if not _is_blank(one.file_name):
        entry = one.head.entry
        stem = one.file_name.rpartition("/")[2].rpartition(".")[0] or one.file_name
        for name in [place.name for place in one.places] or [""]:
            yield _at("photo", one.file_name, Place(name or stem, entry.start, entry.end), word=stem)


def _named(kind: str, what: str, word: str, entry: Entry) -> Iterator[_Done]:
    """What a whole entry says of the job by a name, unless that is still to be filled in."""
    if not _is_blank(word):
        yield _at(kind, what, Place("", entry.start, entry.end), word=word)


_DONE: dict[type[Record], Callable[[Any], Iterator[_Done]]] = {
    Torque: _torque,
    Loosed: lambda one: (_at("joint", "", place, "loosed") for place in one.places),
    Hole: _hole,
    Reading: _reading,
    Look: _look,
    Setting: _setting,
    Did: _did,
    Lock: _lock,
    Serial: _serial,
    Scan: _serial,
    Swap: _swap,
    Removed: _removed,
    Registered: _registered,
    Photo: _photo,
    Ref: lambda one: _named("ref", one.what, one.value, one.head.entry),
    Cable: lambda one: (_at("cable", "", place) for place in one.places if _says_something(one)),
    Series: lambda one: _named("series", one.what, one.file_name, one.head.entry),
    Device: lambda one: (_at("device", "", place) for place in one.places),
}
"""For each kind of record that makes marks, what they say."""


def _is_blank(name: str) -> bool:
    """Whether a name is still to be filled in: `___`."""
    return len(name) > 1 and not name.strip("_")


def _says_something(cable: Cable) -> bool:
    """Whether a cable's line holds more than blanks."""
    written = (cable.size, cable.length, cable.current, cable.voltage, cable.capacity, cable.fuse)
    return any(value is not None for value in written)

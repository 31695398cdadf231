"""From records to marks: one thing done at one place, with the moment and the person."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from sitelog.frozen import NamedTuple, record
from sitelog.kinds.base import Clock, Condition, Place, Record, Value
from sitelog.kinds.electric import Cable, Device, Series
from sitelog.kinds.hole import Hole
from sitelog.kinds.look import Look, Setting
from sitelog.kinds.paper import Photo, Ref
from sitelog.kinds.part import Registered, Removed, Scan, Serial, Swap
from sitelog.kinds.reading import Reading
from sitelog.kinds.step import Did, Lock
from sitelog.kinds.torque import Loosed, Torque
from sitelog.quantities import Quantity
from sitelog.syntax.tokens import Entry


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


MarkId = tuple[str, int, str, str]
"""What tells one mark of a site from every other: file, line, what and place."""


class Mark(NamedTuple):
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
    def id(self) -> MarkId:
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


class Around(NamedTuple):
    """What surrounds an entry: the moment, the person and the tools in use."""

    moment: Moment
    by: str
    assumed: bool
    in_use: tuple[str, ...]


_new = tuple.__new__  # three times as fast as calling a NamedTuple


@record
class Written:
    """One entry with what surrounds it, in the order of the job."""

    entry: Entry
    file: str
    record: Record | None
    around: Around
    marks: tuple[Mark, ...]
    signed: bool  # a signature stands below it


def marks_of(record: Record, around: Around) -> Iterator[Mark]:
    """The marks that one record makes; none where it only speaks of the job."""

    def mark(
        kind: str,
        what: str,
        place: Place,
        mode: str = "final",
        value: Value | None = None,
        second: Quantity | None = None,
        word: str = "",
        conditions: tuple[Condition, ...] = (),
        quantity: Quantity | None = None,
    ) -> Mark:
        start, end = (value.start, value.end) if value is not None else (place.start, place.end)
        quantity = value.quantity if value is not None else quantity
        fields = (kind, what, place.name, mode, quantity, second, word, conditions, start, end, record)
        return _new(Mark, fields + around)

    match record:
        case Torque(_, places, mode, values, _):
            for at, place in enumerate(places):
                value = values[at] if values else None
                if mode in ("final", "click") and (value is None or value.quantity is None):
                    continue  # a blank, or a value that could not be read: said already
                yield mark("joint", "", place, mode, value)
        case Loosed(_, places):
            for place in places:
                yield mark("joint", "", place, "loosed")
        case Hole(_, places, diameters, depths, mode):
            for at, place in enumerate(places):
                if mode != "final":
                    yield mark("hole", "", place, mode)
                elif diameters[at].quantity is not None and depths[at].quantity is not None:
                    yield mark("hole", "", place, mode, diameters[at], depths[at].quantity)
        case Reading(_, what, places, values, answer, conditions, _, _, _, mode, _):
            kind = "dead" if what == "dead" and record.head.entry.kind == "dead" else "reading"
            for at, place in enumerate(places):
                value = values[at] if values else None
                if mode == "final" and not answer and (value is None or value.quantity is None):
                    continue
                yield mark(kind, "" if kind == "dead" else what, place, mode, value, None, answer, conditions)
        case Look(_, whats, places, answer, mode):
            if answer or mode != "final":
                for seen in whats:
                    for place in places or (Place("", seen.start, seen.end),):
                        yield mark("look", seen.name, place, mode, word=answer)
        case Setting(_, what, place_name, text, quantity, at_text):
            yield mark("set", what, Place(place_name, *at_text), word=text, quantity=quantity)
        case Did(_, places, waited, mode):
            for place in places:
                yield mark("step", place.name, Place("", place.start, place.end), mode, quantity=waited)
        case Lock(_, places, locked, label):
            for place in places:
                yield mark("state", "locked" if locked else "unlocked", place, word=label)
        case Serial(_, places, serials) | Scan(_, places, serials):
            for place, serial in zip(places, serials, strict=False):  # a scan may hold no serial
                if serial.name:
                    here = Place(place.name, serial.start, serial.end)
                    yield mark("part", "", here, word=serial.name)
        case Swap(_, places, _, new) if not _is_blank(new):
            yield mark("part", "", places[0], "swap", word=new)
        case Removed(_, places, serials, _):
            for at, place in enumerate(places):
                yield mark("part", "", place, "removed", word=serials[at] if serials else "")
        case Registered(_, places, reference) if not _is_blank(reference):
            for place in places:
                yield mark("registered", "", place, word=reference)
        case Photo(_, file_name, places, _) if not _is_blank(file_name):
            stem = file_name.rpartition("/")[2].rpartition(".")[0] or file_name
            names = [place.name for place in places] or [""]
            for name in names:
                entry = record.head.entry
                yield mark("photo", file_name, Place(name or stem, entry.start, entry.end), word=stem)
        case Ref(_, what, value_text) if not _is_blank(value_text):
            entry = record.head.entry
            yield mark("ref", what, Place("", entry.start, entry.end), word=value_text)
        case Cable(places=places) if _says_something(record):
            for place in places:
                yield mark("cable", "", place)
        case Series(_, what, file_name) if not _is_blank(file_name):
            entry = record.head.entry
            yield mark("series", what, Place("", entry.start, entry.end), word=file_name)
        case Device(_, places):
            for place in places:
                yield mark("device", "", place)


def _is_blank(name: str) -> bool:
    """Whether a name is still to be filled in: `___`."""
    return len(name) > 1 and not name.strip("_")


def _says_something(cable: Cable) -> bool:
    """Whether a cable's line holds more than blanks."""
    written = (cable.size, cable.length, cable.current, cable.voltage, cable.capacity, cable.fuse)
    return any(value is not None for value in written)

"""Readings: what was measured or displayed, with the conditions it holds for; and dead tests."""

from __future__ import annotations

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Condition, Place, Reader, Record, Value, share, unquoted
from sitelog.language.kinds.kind import WITHOUT_REMARK, LogKind, SheetKind
from sitelog.language.kinds.requirement import Requirement, asked, limit_nodes, limits_of
from sitelog.notation.quantities import (
    PART_OF_WHOLE,
    Problem,
    Quantity,
    above_zero,
    difference_in_base,
    find_unit,
    from_zero,
)

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sitelog.language.kinds.kind import Draft

# What a reading of that name measures, where no sheet says so: the terms of IEC 60364-6, clause 6.4.
MEASURES = {
    "insulation": ("resistance",),
    "continuity": ("resistance",),
    "loop": ("resistance",),
    "electrode": ("resistance",),
    "voltage": ("voltage",),
    "rcd-time": ("time",),
    "rcd-current": ("current",),
    "current": ("current",),
    "temperature": ("temperature",),
    "soc": ("ratio",),
    "frequency": ("frequency",),
}

# What a reading of that name can be at all, where its kind of quantity says less.
DOMAINS = {
    "soc": PART_OF_WHOLE,
    "humidity": PART_OF_WHOLE,
    "frequency": above_zero("a frequency"),
    "rcd-current": from_zero("a trip current"),
}

_WORDS_FOR_VALUES = ("no-trip", "none")
_OFF_SCALE = ("ol", "o.l", "o.l.", "over", "overload", "overrange", "max", "inf", "infinity", "open")
_END_OF_SCALE = "beyond the end of the scale? Write the end, such as >999 Mohm"
_EXAMPLE = "for example: reading insulation dc/earth 200 Mohm at 500 V"


@record
class Reading(Record):
    """Values of one sort at one or more points. `answer` is a word such as `no-trip` or `ok`."""

    what: str
    places: tuple[Place, ...]
    values: tuple[Value, ...]
    answer: str
    conditions: tuple[Condition, ...]
    displayed: str  # the equipment that showed the value itself
    after: Quantity | None
    state: tuple[str, str]  # `while` as written
    mode: str = "final"  # or not-tested
    proved: tuple[str, bool, bool] = ("", False, False)  # on what, before, after


def read_reading(reader: Reader) -> Reading | None:
    """`reading WHAT [POINTS] VALUES [at …] [from …] [while …] [after …]`."""
    groups = reader.nodes("group")
    values_node, negative = reader.node("values"), reader.node("negative")
    answer = ""
    if values_node is None and negative is None:
        if len(groups) < 2:
            reader.say("unreadable", "a value is missing", help=_EXAMPLE)
            return None
        last = groups[-1].tokens()[-1]
        answer = unquoted(last.text)
        if groups[0].tokens()[0].text.casefold() in MEASURES and answer.casefold() not in _WORDS_FOR_VALUES:
            what = groups[0].tokens()[0].text
            message = f"a value is missing: `{answer}` says nothing of {what}"
            ends = answer.casefold() in _OFF_SCALE
            reader.say("unreadable", message, last.start, last.end, _END_OF_SCALE if ends else _EXAMPLE)
            return None
        groups = groups[:-1]
    names = groups[0].tokens()
    what_token = names[0]
    if len(names) > 1 or len(groups) > 2:
        message = "a reading is one sort of value at one list of places"
        help = "two points are one word, such as dc-pos/earth; between two places stands a comma"
        reader.say("unreadable", message, groups[0].start, groups[-1].end, help)
        return None
    what = what_token.text
    places = reader.places(groups[1]) if len(groups) > 1 else ()
    if not places:
        places = (Place("", what_token.start, what_token.end),)
    mode = "final"
    if negative is not None:
        word = negative.tokens()[1].text.casefold() if len(negative.tokens()) > 1 else ""
        if word == "tested":
            mode = "not-tested"
        else:
            answer = f"not {word}".strip()
    values = reader.values(values_node, MEASURES.get(what.casefold(), ()), DOMAINS.get(what.casefold()))
    shared = share(reader, places, values)
    return _reading(reader, what, places, shared, answer, mode) if shared is not None else None


def read_dead(reader: Reader) -> Reading | None:
    """`dead POINTS VALUE with TESTER proved on UNIT before, after`."""
    places = reader.places() or (Place("", reader.entry.start, reader.entry.end),)
    if reader.node("values") is None and reader.node("negative") is None:
        reader.say("unreadable", "a value is missing", help="for example: dead L/N 0 V with VT1")
        return None
    shared = share(reader, places, reader.values(reader.node("values"), ("voltage",)))
    mode = "not-tested" if reader.node("negative") is not None else "final"
    return _reading(reader, "dead", places, shared, "", mode) if shared is not None else None


def _reading(
    reader: Reader, what: str, places: tuple[Place, ...], values: tuple[Value, ...], answer: str, mode: str
) -> Reading:
    node = reader.node
    source, after, state, proved = node("from"), node("after"), node("while"), node("proved")
    wait = None
    if after is not None and (value := after.child("value")) is not None:
        wait = reader.value(value, ("time",))
    words = [token.text for token in state.tokens()[1:]] if state is not None else []
    unit, before, afterwards = "", False, False
    if proved is not None:
        name = proved.child("name")
        unit = unquoted(name.tokens()[0].text) if name is not None else ""
        types = [token.type for token in proved.tokens()]
        before, afterwards = "BEFORE" in types, "AFTER" in types
    return Reading(
        reader.head(),
        what,
        places,
        values,
        answer,
        reader.conditions(at) if (at := node("at")) is not None else (),
        source.tokens()[1].text if source is not None else "",
        wait,
        (words[0], words[1] if len(words) > 1 else "") if words else ("", ""),
        mode,
        (unit, before, afterwards),
    )


def read_asked(reader: Reader) -> list[Requirement]:
    """`reading WHATS [POINTS] LIMIT [at …]`: each sort at each place, within the one limit."""
    groups = reader.nodes("group")
    if len(groups) > 2:
        message = "too many words: a reading is WHAT, PLACES and a limit"
        reader.say("unreadable", message, groups[2].start, groups[-1].end)
        return []
    places = tuple(place.name for place in reader.places(groups[1])) if len(groups) > 1 else ()
    found: list[Requirement] = []
    for what in reader.places(groups[0]):
        limits = limits_of(reader, limit_nodes(reader), MEASURES.get(what.name.casefold(), ()))
        found += asked(reader, "reading", what.name, places, limits)
    return found


def read_asked_dead(reader: Reader) -> list[Requirement]:
    """`dead POINTS <= 50 V [after 5 min]`."""
    places = tuple(place.name for place in reader.places(reader.node("group")))
    return asked(reader, "dead", "", places, limits_of(reader, limit_nodes(reader), ("voltage",)))


def read_spread(reader: Reader) -> list[Requirement]:
    """`spread WHAT PLACES LIMIT`: the largest less the smallest of the readings there."""
    places = reader.places()
    what = reader.name()
    limits = limits_of(reader, limit_nodes(reader), MEASURES.get(what.casefold(), ()))
    limits = limits._replace(low=_difference(limits.low), high=_difference(limits.high), target=None)
    names = " ".join(place.name for place in places)
    return asked(reader, "spread", what, (names,), limits) if names else []


def _difference(limit: Quantity | None) -> Quantity | None:
    """A limit as a difference: 9 °F apart are 5 °C apart, though 9 °F is -12.8 °C."""
    unit = find_unit(limit.unit) if limit is not None and limit.unit else None
    if limit is None or unit is None or isinstance(unit, Problem):
        return limit
    return limit._replace(base=difference_in_base(limit.number, unit))


def observe_reading(reading: Reading) -> Iterator[Draft]:
    """One reading for each place that has a value or an answer, or that a word keeps from counting."""
    return _observed("reading", reading.what, reading)


def observe_dead(reading: Reading) -> Iterator[Draft]:
    """One test for dead for each place."""
    return _observed("dead", "", reading)


def _observed(kind: str, what: str, reading: Reading) -> Iterator[Draft]:
    values, mode, answer, conditions = reading.values, reading.mode, reading.answer, reading.conditions
    for at, (name, start, end) in enumerate(reading.places):
        quantity = None
        if values:
            quantity, start, end, _ = values[at]
        if quantity is not None or mode != "final" or answer:
            yield kind, what, name, mode, quantity, None, answer, conditions, start, end


LOG_KINDS = (
    LogKind(
        "reading",
        read_reading,
        "reading insulation dc-pos/earth >999 Mohm at 500 V",
        makes="reading",
        observe=observe_reading,
        waits=True,
    ),
    LogKind(
        "dead",
        read_dead,
        "dead L/N, L/PE 0 V with VT1 proved on PU1 before, after",
        makes="dead",
        observe=observe_dead,
        waits=True,
        repeats=WITHOUT_REMARK,
    ),
)
SHEET_KINDS = (
    SheetKind(
        "reading",
        read_asked,
        "value within limits",
        "reading {about}  {blanks}{unit}{at}{with}",
        "reading insulation dc-pos/earth >= 1 Mohm at 500 V",
        title="reading",
        subject="readings",
        called="what",
        has_what=True,
        plain=True,
        unknown="place of what",
        measures="by name",
        replaces=True,
    ),
    SheetKind(
        # judged from several observations, by `judging/spread.py`; a blank log has its readings
        "spread",
        read_spread,
        "spread",
        "reading {about}  {blanks}{unit}{at}{with}",
        "spread voltage module-A..C <= 0.5 V before stack-A",
        title="spread",
        subject="readings",
        called="nothing",
        has_what=True,
        measures="by name",
        limits_are_values=False,
    ),
    SheetKind(
        "dead",
        read_asked_dead,
        "value within limits",
        "dead {places}  {blanks} V{wait}{with}{proved}",
        "dead dc-pos/dc-neg <= 50 V after 5 min",
        title="test for dead",
        subject="readings",
        called="kind",
        unknown="place of what",
        measures="voltage",
        limits_are_values=False,
        symmetric=True,
    ),
)

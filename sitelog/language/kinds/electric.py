"""Conductors, protective devices and trials: `cable`, `device`, `series`."""

from __future__ import annotations

import re
from decimal import Decimal

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Parts, Place, Reader, Record, split_value, unquoted
from sitelog.language.kinds.kind import LogKind, SheetKind, draft_at
from sitelog.language.kinds.requirement import Factor, Limits, Requirement, asked, compared
from sitelog.language.syntax.tokens import Node, Token
from sitelog.notation.quantities import (
    PART_OF_WHOLE,
    Quantity,
    above_zero,
    format_quantity,
    read_quantity,
)

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from sitelog.language.kinds.kind import Draft

METALS = {
    "cu": "copper",
    "copper": "copper",
    "al": "aluminium",
    "aluminium": "aluminium",
    "aluminum": "aluminium",
}
CURVES = ("B", "C", "D", "K", "Z")
INSULATIONS = {"pvc": "pvc", "xlpe": "xlpe", "epr": "xlpe", "rubber": "rubber"}
"""Insulations by what they bear in a fault; EPR bears what XLPE does (IEC 60364-4-43)."""


@record
class Cable(Record):
    """A run of cable: size, metal, length one way, current, system, and what protects it."""

    places: tuple[Place, ...]
    size: Quantity | None
    metal: str
    length: Quantity | None
    current: Quantity | None
    voltage: Quantity | None
    system: str  # dc, 1ph, 3ph
    capacity: Quantity | None
    fuse: Quantity | None
    temperature: Quantity | None
    strands: str  # conductor class, where said
    insulation: str = ""  # pvc, xlpe, rubber
    separate: bool = False  # a protective conductor that lies alone
    fault: Quantity | None = None
    fault_time: Quantity | None = None
    cos_phi: Decimal | None = None


@record
class Device(Record):
    """A protective device: `C 32 A 6 kA`, `type A 30 mA`."""

    places: tuple[Place, ...]
    curve: str
    rating: Quantity | None
    breaking: Quantity | None
    residual: Quantity | None
    type: str


@record
class Series(Record):
    """A trial with its logger's file."""

    what: str
    file_name: str
    start: Quantity | None
    stop: Quantity | None


def read_cable(reader: Reader) -> Cable:
    """`cable A/B 6 mm2 Cu 4.5 m 20 A at 307 V dc capacity 43 A fuse 32 A`.

    Where a fault is to be stood: `XLPE`, `PVC`, `EPR` or `rubber`, `separate` for a protective conductor
    that lies alone, and `fault 1000 A 0.4 s`. `cos 0.9` (or `cos phi 0.9`) is the power factor.
    """
    found: dict[str, Quantity] = {}
    words: list[str] = []
    slots = _SLOTS
    for part in reader.parts[1:]:
        if isinstance(part, Token):
            word = part.text.casefold()
            if word in METALS or word in INSULATIONS or word in ("dc", "ac", "1ph", "3ph", "separate"):
                words.append(word)
            elif word == "fault" and slots is _SLOTS:
                slots = _FAULT_SLOTS
                continue
            elif word == "for" and slots is _FAULT_SLOTS:
                continue
            else:
                message = f"`{part.text}` says nothing of a cable"
                reader.say("text-after-value", message, part.start, part.end, "words stand in the remark")
            slots = _SLOTS
            continue
        if part.name == "amount":
            slot = _amount(reader, part, found, words, slots)
            if slots is _FAULT_SLOTS and slot in ("", *_FAULT_SLOTS.values()) and not _has_fault(found):
                continue  # its other half comes next
        elif part.name == "gauge":
            size, problems = read_quantity(part.tokens()[1].text, "AWG", "", reader.text_of(part))
            if not reader.report(problems, part.start, part.end) and size is not None:
                found["size"] = size
        elif part.name in ("capacity", "fuse"):
            quantity = reader.value(part.nodes()[0], ("current",), _DOMAINS[part.name])
            if quantity is not None:
                found[part.name] = quantity
        elif part.name == "system":
            for amount in part.nodes():
                if any(token.type == "DC" for token in amount.tokens()):
                    words.append("dc")
                _amount(reader, amount, found, words, _SLOTS)
        slots = _SLOTS
    metal = next((METALS[word] for word in words if word in METALS), "")
    system = next((word for word in words if word in ("dc", "1ph", "3ph")), "")
    strands = reader.node("class")
    return Cable(
        reader.head(),
        reader.places(),
        found.get("size"),
        metal,
        found.get("length"),
        found.get("current"),
        found.get("voltage"),
        system,
        found.get("capacity"),
        found.get("fuse"),
        found.get("temperature"),
        strands.tokens()[1].text if strands is not None else "",
        next((INSULATIONS[word] for word in words if word in INSULATIONS), ""),
        "separate" in words,
        found.get("fault"),
        found.get("fault_time"),
        _cos_phi(reader),
    )


def _cos_phi(reader: Reader) -> Decimal | None:
    """The power factor written `cos 0.9`."""
    node = reader.node("cos")
    if node is None:
        return None
    word, number_token = node.tokens()[-2:]
    if word.type == "WORD" and word.text.casefold() not in ("phi", "φ"):
        reader.say("text-after-value", f"`{word.text}` says nothing of a cable", word.start, word.end)
    number, problems = read_quantity(number_token.text, "")
    if reader.report(problems, node.start, node.end) or number is None:
        return None
    if not 0 < number.number <= 1:
        reader.say("bad-number", "cos phi lies above 0 and up to 1", node.start, node.end)
        return None
    return number.number


_SLOTS = {
    "area": "size",
    "length": "length",
    "current": "current",
    "voltage": "voltage",
    "temperature": "temperature",
}
_DOMAINS = {
    slot: above_zero(f"a cable's {slot.replace('_', ' ')}")
    for slot in ("size", "length", "current", "voltage", "capacity", "fuse", "fault", "fault_time")
}
"""What a run of cable has, it has more than none of."""
_RATED = above_zero("a rated current")
_FAULT_SLOTS = {"current": "fault", "time": "fault_time"}


def _has_fault(found: dict[str, Quantity]) -> bool:
    return "fault" in found and "fault_time" in found


def _amount(
    reader: Reader, node: Node, found: dict[str, Quantity], words: list[str], slots: dict[str, str]
) -> str:
    """Put one amount where its kind of quantity belongs, and say where that was."""
    parts = split_value(node)
    if parts.number == "___":
        return ""
    if parts.number + parts.unit.casefold() in ("1ph", "3ph"):
        words.append(parts.number + "ph")
        return ""
    if parts.unit.casefold() in METALS and "/" in parts.number:
        words.append(parts.unit.casefold())
        parts = Parts(parts.number, "AWG", "")
    if parts.unit.casefold().endswith("dc"):
        words.append("dc")
    start, end = node.start, node.end
    quantity, problems = read_quantity(*parts, reader.entry.text[start:end])
    if reader.report(problems, start, end) or quantity is None:
        return ""
    slot = slots.get(quantity.kind, "") or _SLOTS.get(quantity.kind, "")
    if not slot:
        reader.say("unit-kind", f"`{quantity.text}` says nothing of a cable", node.start, node.end)
    elif slot in found:
        what = slot.replace("_", " ")
        reader.say("duplicate-clause", f"the cable's {what} is given twice", node.start, node.end)
    elif reader.can_be(quantity, start, end, _DOMAINS.get(slot)):
        found[slot] = quantity
    return slot


def read_device(reader: Reader) -> Device:
    """`device q2 C 32 A 6 kA`, `device rcd2 type A 30 mA`."""
    kind = ""
    curves: list[str] = []
    amounts: list[Quantity] = []
    previous = ""
    for part in reader.parts[1:]:
        if isinstance(part, Token) and part.type == "WORD":
            word = part.text
            if previous.casefold() == "type":
                kind = word.upper()
            elif word.upper() in CURVES:
                curves.append(word.upper())
            elif glued := re.fullmatch(
                r"([A-Z])([0-9]+(?:\.[0-9]+)?)A?", word.upper()
            ):  # C32, as devices are marked
                curve = glued[1] if glued[1] in CURVES else ""
                curves += [curve] if curve else []
                quantity, _ = read_quantity(glued[2], "A", "", word)
                if quantity is None or not curve:
                    reader.say("text-after-value", f"`{word}` says nothing of a device", part.start, part.end)
                else:
                    amounts.append(quantity)
            elif word.casefold() != "type":
                reader.say(
                    "text-after-value",
                    f"`{word}` says nothing of a device",
                    part.start,
                    part.end,
                    "words stand in the remark",
                )
            previous = word
        elif isinstance(part, Node) and part.name == "amount":
            quantity = reader.value(part, ("current",), _RATED)
            if quantity is not None:
                amounts.append(quantity)

    # Residual currents are rated below 1 A (IEC 61008-1), breaking capacities above
    # 1 kA (IEC 60898-1); from memory.
    def only(what: str, low: int, high: float) -> Quantity | None:
        found = {q.base: q for q in amounts if low <= q.base < high}
        if len(found) > 1:
            _say_two(reader, what, [format_quantity(q) for q in found.values()])
            return None
        return next(iter(found.values()), None)

    if len(set(curves)) > 1:
        _say_two(reader, "curves", curves)
        curves = []
    return Device(
        reader.head(),
        reader.places(),
        curves[0] if curves else "",
        only("ratings", 1, 1000),
        only("breaking capacities", 1000, float("inf")),
        only("residual currents", 0, 1),
        kind,
    )


def _say_two(reader: Reader, what: str, written: Sequence[str]) -> None:
    """A device has one of each: where a line says two, neither is known."""
    help = "a device has one of each; see what stands on it"
    reader.say("duplicate-clause", f"two {what}: {' and '.join(written)}", help=help)


def read_series(reader: Reader) -> Series:
    """`series discharge FILE [from 92 % to 44 %]`."""
    span = reader.node("trial")
    values = span.nodes() if span is not None else ()
    ends = [reader.value(value, ("ratio",), PART_OF_WHOLE) for value in values]
    return Series(
        reader.head(),
        reader.name(0),
        reader.name(1),
        ends[0] if len(ends) == 2 else None,
        ends[1] if len(ends) == 2 else None,
    )


# What a sheet may ask of a cable and of a trial, and the kinds of quantity that it comes in.
_Kinds = dict[str, tuple[str, ...]]
_CABLE_ITEMS: _Kinds = {
    "drop": ("ratio", "voltage"),
    "size": ("area",),
    "capacity": ("current",),
    "fuse": ("current",),
    "length": ("length",),
    "temperature": ("temperature",),
    "voltage": ("voltage",),
    "loss": ("power",),
    "current": ("current",),
}
_SERIES_ITEMS: _Kinds = {
    "energy": ("energy",),
    "charge": ("charge",),
    "capacity": ("charge",),
    "efficiency": ("ratio",),
    "temperature": ("temperature",),
    "voltage": ("voltage",),
    "current": ("current",),
    "spread": ("voltage", "temperature"),
}


# What a limit of a cable may name instead of a value, and the kind of quantity that it is.
_REFERENCES = {"adiabatic": "area", "fuse": "current", "capacity": "current", "current": "current"}


def _items(reader: Reader, known: _Kinds, references: dict[str, str]) -> tuple[tuple[str, Limits], ...]:
    found: list[tuple[str, Limits]] = []
    for node in reader.nodes("item_limit"):
        word, sign = node.tokens()[:2]
        sized = node.child("sized")
        name = word.text.casefold()
        if name not in known:
            names = ", ".join(known)
            reader.say("unreadable", f"`{word.text}` is not one of {names}", word.start, word.end)
            continue
        if sized is None and isinstance(other := node.children[2], Token):
            reference = other.text.casefold()
            if references.get(reference) in known[name] and reference != name:
                factor = Factor(False, None, reference)
                formula = Limits(formula=(factor,), formula_side=sign.type, text=reader.text_of(node))
                found.append((name, formula))
                continue
        if sized is None:
            others = [other for other, kind in references.items() if kind in known[name] and other != name]
            help = f"or another value of the cable: {', '.join(others)}" if others else ""
            reader.say("unreadable", f"`{name}` wants a value with its unit", node.start, node.end, help)
            continue
        quantity = reader.value(sized, known[name])
        if quantity is not None:
            limits = compared(sign.type, quantity)._replace(text=reader.text_of(node), per=_per(reader, node))
            found.append((name, limits))
    return tuple(found)


def _per(reader: Reader, node: Node) -> Quantity | None:
    """The change of the state of charge behind `per`; said why where it is none."""
    per = node.child("per")
    sized = per.child("sized") if per is not None else None
    share = reader.value(sized, ("ratio",)) if sized is not None else None
    if per is not None and (sized is None or (share is not None and not 0 < share.base <= 1)):
        reader.say(
            "bad-number",
            "`per` wants a share of the state of charge",
            per.start,
            per.end,
            "for example per 90 %",
        )
        return None
    return share


def read_asked_cable(reader: Reader) -> list[Requirement]:
    """`cable A/B drop <= 1 % size >= 6 mm2 capacity >= 32 A`.

    A limit may name another value of the cable: `size >= adiabatic` is the smallest size that stands the
    log's `fault 1000 A 0.4 s`; `capacity >= fuse`.
    """
    items = _items(reader, _CABLE_ITEMS, _REFERENCES)
    if items and {name for name, _ in items} <= {"drop", "loss", "length", "voltage"}:
        message = "neither size nor capacity is asked: whether the cable carries its current is not judged"
        reader.say("capacity-not-judged", message, help="for example: capacity >= fuse")
    return asked(reader, "cable", "", tuple(place.name for place in reader.places()), items=items)


def read_asked_series(reader: Reader) -> list[Requirement]:
    """`series WHAT energy >= 9.0 kWh [per 90 %]`, `temperature <= 45 degC`, `spread <= 50 mV`."""
    return asked(reader, "series", unquoted(reader.name()), ("",), items=_items(reader, _SERIES_ITEMS, {}))


def observe_cable(cable: Cable) -> Iterator[Draft]:
    """The cable of each place, where its line holds more than blanks."""
    written = (cable.size, cable.length, cable.current, cable.voltage, cable.capacity, cable.fuse)
    if any(value is not None for value in written):
        yield from (draft_at("cable", "", place) for place in cable.places)


def observe_device(device: Device) -> Iterator[Draft]:
    """The device of each place."""
    return (draft_at("device", "", place) for place in device.places)


def observe_series(series: Series) -> Iterator[Draft]:
    """The trial, by the name of its file."""
    entry = series.head.entry
    yield draft_at("series", series.what, Place("", entry.start, entry.end), word=series.file_name)


LOG_KINDS = (
    LogKind(
        "cable",
        read_cable,
        "cable battery/inverter 6 mm2 Cu 4.5 m 20 A at 307 V dc capacity 43 A",
        makes="cable",
        observe=observe_cable,
        sized=True,
        waits=True,
        counts_with_blanks=True,
    ),
    LogKind(
        "device",
        read_device,
        "device q2 C 32 A 6 kA",
        makes="device",
        observe=observe_device,
        counts_with_blanks=True,
    ),
    LogKind(
        "series",
        read_series,
        "series discharge trial-1.csv",
        makes="series",
        observe=observe_series,
        waits=True,
    ),
)
SHEET_KINDS = (
    SheetKind(
        "cable",
        read_asked_cable,
        "cable",
        "cable {place}  ___ {size_unit}  ___ m  ___ A at ___ V capacity ___ A fuse ___ A",
        "cable battery/inverter drop <= 1 % size >= 6 mm2",
        title="cable",
        subject="cables",
        placed=True,
        called="kind",
        outlasts_parts=True,
    ),
    SheetKind(
        "series",
        read_asked_series,
        "trial",
        "series {what} ___  from ___ % to ___ %",
        "series discharge energy >= 9.0 kWh per 90 %",
        title="trial",
        subject="series",
        called="what",
        has_what=True,
    ),
)

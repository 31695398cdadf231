"""Steps that were done, and states that were made: `did`, `lock`, `unlock`."""

from __future__ import annotations

from decimal import Decimal

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Place, Reader, Record
from sitelog.language.kinds.requirement import Requirement, asked
from sitelog.notation.quantities import Quantity, format_number


@record
class Did(Record):
    """Steps done, with the wait in front of them as written."""

    places: tuple[Place, ...]
    waited: Quantity | None
    mode: str = "final"


@record
class Lock(Record):
    """A lock put on or taken off."""

    places: tuple[Place, ...]
    locked: bool
    label: str


def read_did(reader: Reader) -> Did:
    """`did STEP [waited 75 s]`."""
    mode = "not-tested" if reader.node("negative") is not None else "final"
    waited = reader.node("waited")
    return Did(
        reader.head(), reader.places(), _sum(reader, waited.nodes()) if waited is not None else None, mode
    )


def _sum(reader: Reader, nodes: tuple[object, ...]) -> Quantity | None:
    """`1 min 15 s` is 75 s."""
    parts = [reader.value(node, ("time",)) for node in nodes]  # type: ignore[arg-type]
    known = [part for part in parts if part is not None]
    if len(known) < len(parts) or not known:
        return None
    if len(known) == 1:
        return known[0]
    total = sum((part.base for part in known), Decimal(0))
    return Quantity(total, "s", "time", total, "", f"{format_number(total)} s")


def read_lock(reader: Reader) -> Lock:
    """`lock PLACE [label]`, `unlock PLACE`."""
    return Lock(
        reader.head(), reader.places(), reader.entry.kind == "lock", reader.text_of(reader.node("label"))
    )


def read_asked(reader: Reader) -> list[Requirement]:
    """`step STEP [60 s] [after …] [while …]`."""
    return [one for place in reader.places() for one in asked(reader, "step", place.name, ("",))]

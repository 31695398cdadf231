"""Joints: what was tightened (`torque`, `loosed`), and what a sheet asks of it (`joint`)."""

from __future__ import annotations

from dataclasses import dataclass

from sitelog.kinds.asked import Asked, asked, limit_nodes, limits_of
from sitelog.kinds.base import Place, Reader, Record, Value, share
from sitelog.quantities import Quantity

MODES = ("pre", "click", "held", "moved")
TORQUE = ("torque",)


@dataclass(frozen=True, slots=True)
class Torque(Record):
    """A tightening. `mode` is `final`, `pre`, `click`, `held`, `moved` or `not-tested`."""

    places: tuple[Place, ...]
    mode: str
    values: tuple[Value, ...]  # one per place; empty where none was written
    moved: Quantity | None = None  # by how far a re-torque check moved it


@dataclass(frozen=True, slots=True)
class Loosed(Record):
    """Joints that were undone again."""

    places: tuple[Place, ...]


def read_torque(reader: Reader) -> Torque | None:
    """`torque PLACES [pre|click|held|moved] VALUES`."""
    places = reader.places()
    if reader.node("negative") is not None:
        return Torque(reader.head(), places, "not-tested", ())
    mode = next((mode for mode in MODES if reader.node(mode) is not None), "final")
    part = reader.node(mode)
    node = reader.node("values") if part is None else part.child("values")
    moved = None
    if mode == "moved":
        angles = reader.values(node, ("angle",))
        moved = angles[0].quantity if angles else None
        at = reader.node("at")
        values = reader.values(at.child("condition"), TORQUE) if at is not None else ()
    else:
        values = reader.values(node, TORQUE)
    if reader.has("CLICK"):
        mode = "click"
    shared = share(reader, places, values)
    return Torque(reader.head(), places, mode, shared, moved) if shared is not None else None


def read_loosed(reader: Reader) -> Loosed:
    """`loosed PLACES`."""
    return Loosed(reader.head(), reader.places())


def read_joint(reader: Reader) -> list[Asked]:
    """`joint PLACES [M8] [class 8.8] LIMIT`."""
    words = reader.words()
    grade = reader.node("class")
    return asked(
        reader,
        "joint",
        "",
        tuple(place.name for place in reader.places()),
        limits_of(reader, limit_nodes(reader), TORQUE),
        size=" ".join(words),
        grade=grade.tokens()[1].text if grade is not None else "",
    )

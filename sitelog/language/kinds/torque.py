"""Joints: what was tightened (`torque`, `loosed`), and what a sheet asks of it (`joint`)."""

from __future__ import annotations

import re

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Place, Reader, Record, Value, share
from sitelog.language.kinds.kind import LogKind, SheetKind, draft_at
from sitelog.language.kinds.requirement import Limits, Requirement, asked, limit_nodes, limits_of
from sitelog.language.syntax.tokens import Node, Token
from sitelog.notation.quantities import Quantity, above_zero, format_quantity
from sitelog.physics.fasteners import STRONGEST, strain, torque_at

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sitelog.language.kinds.kind import Draft

MODES = ("pre", "click", "held", "moved")
TORQUE = ("torque",)
_SIZE = above_zero("a torque")
_THREAD = r"(?:MF?|G|R|Rp|Rc|Tr|Pg)\d[\d./x×*,-]*"
"""Metric and pipe threads as one word (common practice, no source)."""


@record
class Torque(Record):
    """A tightening. `mode` is `final`, `pre`, `click`, `held`, `moved` or `not-tested`."""

    places: tuple[Place, ...]
    mode: str
    values: tuple[Value, ...]  # one per place; empty where none was written
    moved: Quantity | None = None  # by how far a re-torque check moved it


@record
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
        values = reader.values(at.child("condition"), TORQUE, _SIZE) if at is not None else ()
    else:
        values = reader.values(node, TORQUE, _SIZE)
    if reader.has("CLICK"):
        mode = "click"
    shared = share(reader, places, values)
    return Torque(reader.head(), places, mode, shared, moved) if shared is not None else None


def read_loosed(reader: Reader) -> Loosed:
    """`loosed PLACES`."""
    return Loosed(reader.head(), reader.places())


def read_joint(reader: Reader) -> list[Requirement]:
    """`joint PLACES [M8] [class 8.8] LIMIT`."""
    size = " ".join(reader.words())
    _say_no_thread(reader)
    node = reader.node("class")
    grade = node.tokens()[1].text if node is not None else ""
    nodes = limit_nodes(reader)
    limits = limits_of(reader, nodes, TORQUE)
    if nodes and size:
        _for_bolt(reader, nodes, limits, size, grade)
    places = tuple(place.name for place in reader.places())
    return asked(reader, "joint", "", places, limits, size=size, grade=grade)


def _say_no_thread(reader: Reader) -> None:
    """A word of a joint is one thread, as M8, G1/2 or a quoted text; any other word has no meaning there."""
    words = [part for part in reader.parts if isinstance(part, Token) and part.type in ("WORD", "STRING")]
    for at, word in enumerate(words):
        if word.type == "STRING" and at == 0:
            continue
        if at > 0 or not re.fullmatch(_THREAD, word.text, re.IGNORECASE):
            message = f"`{word.text}` is no thread" if at == 0 else f"a second thread: `{word.text}`"
            help = (
                'a thread is written M8, M8x1, G1/2, or in quotes: "1/4-20"; other words stand in the remark'
            )
            reader.say("text-after-value", message, word.start, word.end, help)


def _for_bolt(reader: Reader, nodes: list[Node], limits: Limits, size: str, grade: str) -> None:
    """Say where the torque asked would stretch a bolt of that size and class beyond its proof load."""
    torque = limits.target or limits.low or limits.high
    found = strain(float(torque.base), size, grade) if torque is not None else None
    if torque is None or found is None or not found.probable:
        return
    bolt = f"{size} class {grade}" if grade else f"{size} (taken as class {STRONGEST}, the strongest)"
    what = f"the proof load of {bolt} by T = K d F"
    if found.certain:
        # Whatever the friction: no bolt of that size can be meant.
        message = f"{format_quantity(torque)} would exceed {what} even with K 0.30"
    else:
        message = f"{format_quantity(torque)} would exceed {what} with the usual K 0.20"
    bound = torque_at(found.load, size)
    help = f"was another unit or size meant? {bound:.2g} Nm reach that load with K 0.20"
    reader.say("torque-not-for-bolt", message, nodes[0].start, nodes[-1].end, help)
    if found.certain:
        reader.findings[-1] = reader.findings[-1]._replace(severity="error")


def observe_torque(torque: Torque) -> Iterator[Draft]:
    """One joint for each place that has a value, or that a word keeps from counting."""
    mode, values = torque.mode, torque.values
    if not values:
        if mode not in ("final", "click"):
            yield from [draft_at("joint", "", place, mode) for place in torque.places]
        return
    for place, (quantity, start, end, _) in zip(torque.places, values, strict=False):
        if quantity is not None or mode not in ("final", "click"):  # else a blank, or said already
            yield "joint", "", place.name, mode, quantity, None, "", (), start, end


def observe_loosed(loosed: Loosed) -> Iterator[Draft]:
    """Each joint that was undone."""
    return (draft_at("joint", "", place, "loosed") for place in loosed.places)


LOG_KINDS = (
    LogKind(
        "torque",
        read_torque,
        "torque bracket-1..4 12.1 12.0 11.9 12.2 Nm with TW3",
        makes="joint",
        observe=observe_torque,
        waits=True,
    ),
    LogKind(
        "loosed",
        read_loosed,
        "loosed bracket-3..4 -- to pass the cable",
        makes="joint",
        observe=observe_loosed,
    ),
)
SHEET_KINDS = (
    SheetKind(
        "joint",
        read_joint,
        "value within limits",
        "torque {places}  {click}{blanks}{unit}{with}",
        "joint bracket-1..8 M8 class 8.8 12 Nm +-10 %",
        title="joint",
        subject="joints",
        placed=True,
        unknown="place",
        measures="torque",
        replaces=True,
        worked_on=True,
    ),
)

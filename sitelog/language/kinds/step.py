"""Steps that were done, and states that were made: `did`, `lock`, `unlock`."""

from __future__ import annotations

from decimal import Decimal

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Place, Reader, Record
from sitelog.language.kinds.kind import LogKind, SheetKind, draft_at
from sitelog.language.kinds.requirement import Requirement, asked
from sitelog.notation.quantities import Quantity, format_number

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sitelog.language.kinds.kind import Draft


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


def observe_did(did: Did) -> Iterator[Draft]:
    """Each step that was done."""
    for name, start, end in did.places:
        yield "step", name, "", did.mode, did.waited, None, "", (), start, end


def observe_lock(lock: Lock) -> Iterator[Draft]:
    """The state of each place that was locked or unlocked."""
    state = "locked" if lock.locked else "unlocked"
    return (draft_at("state", state, place, word=lock.label) for place in lock.places)


LOG_KINDS = (
    LogKind(
        "lock", read_lock, "lock q1 padlock 14", makes="state", observe=observe_lock, counts_with_blanks=True
    ),
    LogKind("unlock", read_lock, "unlock q1", makes="state", observe=observe_lock, counts_with_blanks=True),
    LogKind(
        "did",
        read_did,
        "did fault-lamp waited 75 s",
        makes="step",
        observe=observe_did,
        counts_with_blanks=True,
    ),
)
SHEET_KINDS = (
    SheetKind(
        # a line that is written down counts as done, so a blank one stands as a comment
        "step",
        read_asked,
        "presence",
        "# did     {what}{waited}",
        'step breaker-on after bracket caution "cover closed"',
        title="step",
        subject="steps",
        called="what",
        plain=True,
        unknown="step",
    ),
)

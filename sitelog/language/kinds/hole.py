"""Holes: diameter and depth, each judged for itself."""

from __future__ import annotations

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Place, Reader, Record, Value, share
from sitelog.language.kinds.kind import LogKind, SheetKind, draft_at
from sitelog.language.kinds.requirement import NO_LIMITS, Requirement, asked, limits_of
from sitelog.language.syntax.tokens import Node
from sitelog.notation.quantities import Quantity, above_zero

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sitelog.language.kinds.kind import Draft

LENGTH = ("length",)
_SIZE = above_zero("a size of a hole")


@record
class Hole(Record):
    """Holes with their diameters and depths, one of each per place."""

    places: tuple[Place, ...]
    diameters: tuple[Value, ...]
    depths: tuple[Value, ...]
    mode: str = "final"


def read_hole(reader: Reader) -> Hole | None:
    """`hole PLACES 12 mm x 62 mm`."""
    places = reader.places()
    if reader.node("negative") is not None:
        return Hole(reader.head(), places, (), (), "not-tested")
    sizes = reader.node("sizes")
    if sizes is None:
        reader.say("unreadable", "a hole has two sizes: diameter x depth", help="write 12 mm x 62 mm")
        return None
    pairs = [(size, _pair(reader, size)) for size in sizes.nodes()]
    diameters = share(reader, places, tuple(Value(pair[0], size.start, size.end) for size, pair in pairs))
    if diameters is None:
        return None
    depths = tuple(Value(pair[1], size.start, size.end) for size, pair in pairs)
    return Hole(reader.head(), places, diameters, depths * len(places) if len(depths) == 1 else depths)


def _pair(reader: Reader, size: Node) -> tuple[Quantity | None, Quantity | None]:
    return reader.pair(size, "length", _SIZE) if size.tokens()[0].type != "HOLLOW" else (None, None)


def read_asked(reader: Reader) -> list[Requirement]:
    """`hole PLACES 12 mm +0.5/-0 x 60 mm +10/-0`."""
    node = reader.node("hole_limit")
    diameter = depth = NO_LIMITS
    if node is not None:
        first, second = node.nodes()[0], node.nodes()[-1]
        diameter, depth = limits_of(reader, [first], LENGTH), limits_of(reader, [second], LENGTH)
    return asked(reader, "hole", "", tuple(place.name for place in reader.places()), diameter, depth)


def observe_hole(hole: Hole) -> Iterator[Draft]:
    """One hole for each place that has both sizes."""
    for at, place in enumerate(hole.places):
        if hole.mode != "final":
            yield draft_at("hole", "", place, hole.mode)
            continue
        (width, start, end, _), depth = hole.diameters[at], hole.depths[at].quantity
        if width is not None and depth is not None:
            yield "hole", "", place.name, hole.mode, width, depth, "", (), start, end


LOG_KINDS = (
    LogKind(
        "hole",
        read_hole,
        "hole anchor-1..6 12 mm x 62 mm",
        makes="hole",
        observe=observe_hole,
        waits=True,
        sized=True,
    ),
)
SHEET_KINDS = (
    SheetKind(
        "hole",
        read_asked,
        "two sizes",
        "hole {place}  ___ {length} x ___ {length}",
        "hole anchor-1..6 12 mm +0.5/-0 x 60 mm +10/-0",
        title="hole",
        subject="holes",
        placed=True,
        unknown="place",
        replaces=True,
        outlasts_parts=True,
    ),
)

"""Parts with serials: where each sits, what was swapped and what left."""

from __future__ import annotations

import re

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Place, Reader, Record, count, unquoted
from sitelog.language.kinds.kind import NEVER, LogKind, SheetKind, draft_at, is_blank
from sitelog.language.kinds.requirement import Requirement, asked
from sitelog.language.syntax.tokens import Token
from sitelog.notation.places import expand
from sitelog.notation.quantities import Problem

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sitelog.language.kinds.kind import Draft


@record
class Serial(Record):
    """Serials put on places, one each; empty where it is still blank."""

    places: tuple[Place, ...]
    serials: tuple[Place, ...]


@record
class Swap(Record):
    """One serial in the place of another; `old` is empty where it was not said."""

    places: tuple[Place, ...]
    old: str
    new: str


@record
class Removed(Record):
    """Parts that left their places, with the serials where said and where they went."""

    places: tuple[Place, ...]
    serials: tuple[str, ...]
    to: str


@record
class Registered(Record):
    """Parts registered with their maker or a network operator under a reference."""

    places: tuple[Place, ...]
    reference: str


@record
class Scan(Record):
    """What a barcode reader typed for a place, as it arrived, and the identifiers read from it."""

    places: tuple[Place, ...]  # one
    serials: tuple[Place, ...]  # none where the code holds none
    raw: str
    item: str  # the trade item's or the part's number
    lot: str


def _serials(reader: Reader) -> tuple[Place, ...]:
    node = reader.node("names")
    return tuple(
        Place("" if token.type == "HOLLOW" else unquoted(token.text), token.start, token.end)
        for token in (node.tokens() if node is not None else ())
        if token.type != "COMMA"
    )


def read_serial(reader: Reader) -> Serial | None:
    """`serial PLACES SERIALS`: one for each, never shared."""
    places, serials = reader.places(), _serials(reader)
    if len(places) != len(serials):
        message = f"{count(len(places), 'place')}, but {count(len(serials), 'serial')}"
        help = "each place has a serial of its own; write `___` where it is still to be read"
        reader.say("wrong-count", message, serials[0].start, serials[-1].end, help)
        return None
    return Serial(reader.head(), places, serials)


def read_swap(reader: Reader) -> Swap | None:
    """`swap PLACE OLD -> NEW`, `swap PLACE NEW`."""
    places = reader.places()
    names = [reader.name(0), reader.name(1)]
    if reader.entry.remark.startswith(">"):  # `-->`: the two dashes made a remark of the new serial
        reader.say("unreadable", "`-->` was read as the start of the remark", help="write the arrow as ->")
        return None
    if len(places) != 1:
        reader.say("wrong-count", "a swap is one place at a time", help="write one `swap` line per place")
        return None
    if not names[0]:
        reader.say("unreadable", "which serial went in?", help="for example: swap module-B OLD -> NEW")
        return None
    return Swap(reader.head(), places, names[0] if names[1] else "", names[1] or names[0])


def read_removed(reader: Reader) -> Removed | None:
    """`removed PLACES [SERIALS] [to WORD]`."""
    places, serials, to = (
        reader.places(),
        tuple(serial.name for serial in _serials(reader)),
        reader.node("to"),
    )
    if serials and len(serials) != len(places):
        message = f"{count(len(places), 'place')}, but {count(len(serials), 'serial')}"
        reader.say("wrong-count", message, help="name a serial for every part, or none")
        return None
    return Removed(reader.head(), places, serials, to.tokens()[1].text if to is not None else "")


def read_registered(reader: Reader) -> Registered:
    """`registered PLACES ref WORD`."""
    reference = reader.node("reference")
    return Registered(
        reader.head(), reader.places(), reference.tokens()[1].text if reference is not None else ""
    )


# A remark stands behind a blank and two dashes, as everywhere; serials have dashes within them.
_SCAN_END = r"(?s)[ \t]+(?:--|—|#(?=[ \t]|$)).*"


def read_scan(reader: Reader) -> Scan | None:
    """`scan PLACE RAW`: a serial for its place, as `serial` gives it, out of what a barcode reader typed."""
    node = reader.node("text")
    words = node.tokens() if node is not None else ()
    place: Token | None = words[0] if words else None
    rest = reader.entry.text[place.end :].strip(" \t") if place is not None else ""
    end = re.search(_SCAN_END, f" {rest}")
    raw = rest[: max(end.start() - 1, 0)] if end is not None else rest
    if place is None or not raw:
        reader.say("unreadable", "a scan is a place and what the reader typed")
        return None
    names = expand(place.text) if place.type != "STRING" else (unquoted(place.text),)
    if isinstance(names, Problem) or len(names) != 1 or raw[0] == ",":
        help = "write one `scan` line per place"
        reader.say("wrong-count", "a scan is one code for one place", place.start, place.end, help)
        return None
    start = reader.entry.text.index(raw, place.end)
    span = (start, start + len(raw))
    head = reader.head()
    remark = end[0].strip(" \t").lstrip("-—").strip() if end is not None and "#" not in end[0][:2] else ""
    head = head._replace(entry=reader.entry._replace(remark=remark))
    places = (Place(names[0], place.start, place.end),)
    blank = Scan(head, places, (), raw, "", "")
    if not raw.strip("_"):
        return blank
    from sitelog.notation.codes import MissingLibraryError, read_code  # few logs hold a scan

    try:
        code = read_code(raw)
    except MissingLibraryError as error:
        help = "python -m pip install 'sitelog[scan]', or type the serial: `serial PLACE SERIAL`"
        reader.say(
            "extra-missing", f"the library {error} is not installed, so the scan is not read", *span, help
        )
        return blank
    if code.trouble:
        reader.say("scan-unreadable", code.trouble, *span, code.help)
        return blank
    for wrong in code.digits:
        reader.say("check-digit", wrong, *span, "scan it again; a printed number may have been typed by hand")
    if not code.serial:
        item = code.item or ", ".join(value for _, value in code.fields)
        help = "scan the label that holds the serial, or type it: `serial PLACE SERIAL`"
        reader.say("scan-no-serial", f"the code holds no serial, only {item}", *span, help)
    serials = (Place(code.serial, *span),) if code.serial else ()
    return Scan(head, places, serials, raw, code.item, code.lot)


def read_asked(reader: Reader) -> list[Requirement]:
    """`part PLACES [serial like "…"] [check luhn] [reopens …]`."""
    found = asked(reader, "part", "", tuple(place.name for place in reader.places()))
    node = reader.node("check")
    if node is None:
        return found
    from sitelog.notation.codes import SCHEMES

    word = node.tokens()[1]
    scheme = word.text.casefold()
    if scheme not in SCHEMES:
        help = f"one of {', '.join(sorted(SCHEMES))}"
        reader.say("unreadable", f"`{word.text}` is no check digit that is known", word.start, word.end, help)
        return found
    return [one._replace(check=scheme) for one in found]


def read_asked_registered(reader: Reader) -> list[Requirement]:
    """`registered PLACES`."""
    return asked(reader, "registered", "", tuple(place.name for place in reader.places()))


def observe_serial(serials: Serial | Scan) -> Iterator[Draft]:
    """The serial of each place; a scan may hold none."""
    for place, (serial, start, end) in zip(serials.places, serials.serials, strict=False):
        if serial:
            yield draft_at("part", "", Place(place.name, start, end), word=serial)


def observe_removed(removed: Removed) -> Iterator[Draft]:
    """Each part that left, with its serial where that was written."""
    for at, place in enumerate(removed.places):
        yield draft_at("part", "", place, "removed", removed.serials[at] if removed.serials else "")


def observe_swap(swap: Swap) -> Iterator[Draft]:
    """The part that came."""
    if not is_blank(swap.new):
        yield draft_at("part", "", swap.places[0], "swap", swap.new)


def observe_registered(registered: Registered) -> Iterator[Draft]:
    """Each part that was registered."""
    for place in registered.places:
        yield draft_at("registered", "", place, word=registered.reference)


LOG_KINDS = (
    LogKind(
        "serial",
        read_serial,
        "serial module-A..C QX2607-00418 QX2607-00419 QX2607-00420",
        makes="part",
        observe=observe_serial,
        waits=True,
        repeats=NEVER,
    ),
    LogKind(
        "swap",
        read_swap,
        "swap module-B QX2607-00419 -> QX2607-00433",
        makes="part",
        observe=observe_swap,
        repeats=NEVER,
    ),
    LogKind(
        "removed",
        read_removed,
        "removed module-B QX2607-00419 to workshop",
        makes="part",
        observe=observe_removed,
        counts_with_blanks=True,
    ),
    LogKind(
        "registered",
        read_registered,
        "registered module-A..C ref R-2291",
        makes="registered",
        observe=observe_registered,
        waits=True,
    ),
    # what a scan says depends on the libraries installed
    LogKind(
        "scan",
        read_scan,
        "scan module-A (21)QX2607-00418",
        makes="part",
        observe=observe_serial,
        repeats=NEVER,
    ),
)
SHEET_KINDS = (
    SheetKind(
        "part",
        read_asked,
        "serial",
        "serial {places}  {blanks}",
        'part module-A..C serial like "QX####-#####"',
        title="part",
        subject="parts",
        placed=True,
        unknown="place",
    ),
    SheetKind(
        "registered",
        read_asked_registered,
        "presence",
        "registered {places}  ref ___",
        "registered module-A..C",
        title="registration",
        subject="parts",
        placed=True,
        unknown="place",
    ),
)

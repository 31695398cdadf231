"""Words about the work: defects, notes, photos, references, corrections, signatures, leaving."""

from __future__ import annotations

import re

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Place, Reader, Record, unquoted
from sitelog.language.kinds.kind import NEVER, WITHOUT_REMARK, LogKind, SheetKind, draft_at
from sitelog.language.kinds.requirement import Requirement, asked
from sitelog.language.syntax.tokens import Token
from sitelog.notation.misspelt import nearest

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sitelog.language.kinds.kind import Draft

GRADES = ("minor", "major", "danger")
PURPOSES = ("installed", "serviced", "removed", "day-end")
"""What a signature can be for. All but the last close a visit."""
DIGEST = "digest-2:"
"""Begins the digest that `sitelog sign` writes."""

OLD_DIGEST = "digest-1:"
"""Begins a digest that covers the lines above alone; it is still read."""


@record
class Defect(Record):
    """A defect found, with its grade and what is wrong."""

    name: str
    grade: str
    places: tuple[Place, ...]
    about: str


@record
class Cleared(Record):
    """Defects put right."""

    names: tuple[Place, ...]


@record
class Photo(Record):
    """A photo's file, and what it shows."""

    file_name: str
    places: tuple[Place, ...]
    digest: str


@record
class Ref(Record):
    """A permit, notice, seal, licence or return by its number."""

    what: str
    value: str


@record
class Text(Record):
    """`note`, `todo`, `done`, `away`, `back`: words."""

    kind: str
    words: str


@record
class NotApplicable(Record):
    """Things that a lead takes out of the missing."""

    places: tuple[Place, ...]


@record
class Strike(Record):
    """What is struck: the first words of an entry above, as given."""

    words: tuple[Token, ...]


@record
class Sign(Record):
    """A signature: who, for what, and the digest of what stands above where there is one."""

    who: str
    purpose: str
    digest: str


@record
class Received(Record):
    """The owner's hand."""

    who: str
    full_name: str


def _tokens(reader: Reader) -> tuple[Token, ...]:
    node = reader.node("text")
    return node.tokens() if node is not None else ()


def read_defect(reader: Reader) -> Defect | None:
    """`defect D1 minor [of PLACE] TEXT`."""
    words = _tokens(reader)
    if len(words) < 2 or words[1].text.casefold() not in GRADES:
        at = words[1] if len(words) > 1 else words[0] if words else None
        start, end = (at.start, at.end) if at is not None else (-1, -1)
        reader.say(
            "unreadable",
            "a defect has a name and a grade: minor, major or danger",
            start,
            end,
            "for example: defect D1 minor cover scratched",
        )
        return None
    rest = words[2:]
    places: tuple[Place, ...] = ()
    if len(rest) > 1 and rest[0].type == "OF":
        places = (Place(rest[1].text, rest[1].start, rest[1].end),)
        rest = rest[2:]
    about = reader.entry.text[rest[0].start : rest[-1].end] if rest else reader.entry.remark
    if not about:
        reader.say("reason-wanted", "what is wrong?", help="say it behind the grade")
    return Defect(reader.head(), words[0].text, words[1].text.casefold(), places, about)


def read_cleared(reader: Reader) -> Cleared:
    """`cleared D1`."""
    node = reader.node("names")
    tokens = node.tokens() if node is not None else ()
    return Cleared(reader.head(), tuple(Place(t.text, t.start, t.end) for t in tokens if t.type != "COMMA"))


def read_photo(reader: Reader) -> Photo:
    """`photo FILE [of X]`."""
    digest = reader.name(1)
    return Photo(reader.head(), reader.name(), reader.places(), digest)


def read_ref(reader: Reader) -> Ref:
    """`ref WORD WORD`."""
    names = [unquoted(node.tokens()[0].text) for node in reader.nodes("name")]
    return Ref(reader.head(), names[0], " ".join(names[1:]))


def read_text(reader: Reader) -> Text:
    """`note TEXT`."""
    node = reader.node("text")
    words = reader.text_of(node) or reader.entry.remark
    if not words and reader.entry.kind in ("note", "todo"):
        reader.say(
            "reason-wanted", f"`{reader.entry.kind}` with nothing to it", help="say it behind the word"
        )
    return Text(reader.head(), reader.entry.kind, words)


def read_na(reader: Reader) -> NotApplicable:
    """`n/a PLACES by LEAD -- reason`."""
    if not reader.entry.remark:
        reader.say("reason-wanted", "`n/a` wants a reason", help="add ` -- ` and why it does not apply")
    return NotApplicable(reader.head(), reader.places(reader.node("names")))


def read_strike(reader: Reader) -> Strike:
    """`strike KIND [PLACES] [VALUE] -- reason`."""
    if not reader.entry.remark:
        reader.say(
            "strike-reason", "a strike wants a reason", help="add ` -- ` and what was wrong with the entry"
        )
    return Strike(reader.head(), _tokens(reader))


def read_sign(reader: Reader) -> Sign | None:
    """`sign WHO PURPOSE [digest]`."""
    words = [unquoted(word) for word in re.findall(r'"[^"]*"|\S+', reader.text_of(reader.node("text")))]
    if not words:
        reader.say("unreadable", "who signs?", help="for example: sign mo installed")
        return None
    # The line's last word, behind the remark where there is one.
    last = (reader.entry.remark.split() or words)[-1]
    known_digests = (DIGEST, OLD_DIGEST)
    digest = (
        last if last.startswith(known_digests) else words[-1] if words[-1].startswith(known_digests) else ""
    )
    rest = [word for word in words[1:] if word != digest]
    purpose = rest[0].casefold() if rest else "installed"
    wrong = rest[:1] if purpose not in PURPOSES else rest[1:]
    if wrong:
        at = reader.entry.text.index(wrong[0], reader.entry.start)
        known = ", ".join(PURPOSES[:-1]) + f" or {PURPOSES[-1]}"
        message = f"`{wrong[0]}` is nothing that a signature can be for"
        if purpose in PURPOSES:
            message = f"nothing more can stand here: `{wrong[0]}`"
        help = f"one signs for {known}; other words stand in the remark"
        if near := nearest(wrong[0], PURPOSES):
            help = f"did you mean `{near}`? {help[0].upper()}{help[1:]}"
        reader.say("text-after-value", message, at, at + len(wrong[0]), help)
        if purpose not in PURPOSES:
            purpose = ""  # closes nothing
    return Sign(reader.head(), words[0], purpose, digest)


def read_received(reader: Reader) -> Received:
    """`received owner "Name"`."""
    return Received(reader.head(), reader.name(), next(iter(reader.words()), ""))


def read_asked_photo(reader: Reader) -> list[Requirement]:
    """`photo NAMES`."""
    places = [place.name for node in reader.nodes("group") for place in reader.places(node)]
    return [one for place in places for one in asked(reader, "photo", "", (place,))]


def read_asked_ref(reader: Reader) -> list[Requirement]:
    """`ref WORDS`."""
    names = reader.places(reader.node("group"))
    return [each for name in names for each in asked(reader, "ref", name.name, ("",))]


def observe_photo(photo: Photo) -> Iterator[Draft]:
    """The photo of each place; of what its file is named for where no place is given."""
    entry = photo.head.entry
    stem = photo.file_name.rpartition("/")[2].rpartition(".")[0] or photo.file_name
    for name in [place.name for place in photo.places] or [""]:
        yield draft_at("photo", photo.file_name, Place(name or stem, entry.start, entry.end), word=stem)


def observe_ref(ref: Ref) -> Iterator[Draft]:
    """The reference."""
    entry = ref.head.entry
    yield draft_at("ref", ref.what, Place("", entry.start, entry.end), word=ref.value)


LOG_KINDS = (
    LogKind(
        "defect", read_defect, "defect D1 minor cover scratched near the hinge", repeats=NEVER, free=True
    ),
    LogKind("cleared", read_cleared, "cleared D1 -- touched up"),
    LogKind(
        "photo", read_photo, 'photo "IMG 2041.jpg" of D1', makes="photo", observe=observe_photo, waits=True
    ),
    LogKind(
        "ref", read_ref, "ref permit 2026/114", makes="ref", observe=observe_ref, waits=True, repeats=NEVER
    ),
    LogKind("note", read_text, "note the owner asks for a second stack", repeats=NEVER, free=True),
    LogKind("todo", read_text, "todo order a label for the board", repeats=NEVER, free=True),
    LogKind("done", read_text, "done order a label for the board", repeats=WITHOUT_REMARK, free=True),
    LogKind("away", read_text, "away locked, caps on -- called out", repeats=WITHOUT_REMARK, free=True),
    LogKind("back", read_text, "back", repeats=WITHOUT_REMARK, free=True),
    LogKind("n/a", read_na, "n/a shelf-4 by mo -- this wall has three", repeats=WITHOUT_REMARK),
    LogKind(
        "strike",
        read_strike,
        "strike continuity frame/earth -- read off the wrong range",
        repeats=WITHOUT_REMARK,
    ),
    LogKind("sign", read_sign, "sign mo installed", repeats=WITHOUT_REMARK),
    LogKind("received", read_received, 'received owner "Name"'),
)
SHEET_KINDS = (
    SheetKind(
        "photo",
        read_asked_photo,
        "photo",
        "photo ___ of {place}",
        "photo label-board",
        title="photo",
        subject="photos",
        called="kind",
    ),
    SheetKind("ref", read_asked_ref, "presence", "ref {what}  ___", "ref permit", title="ref", called="what"),
)

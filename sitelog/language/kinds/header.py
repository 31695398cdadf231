"""What opens a log and divides it: site, sheet, kit, crew, zone, visit, day, and the tools in use."""

from __future__ import annotations

from datetime import date

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Place, Reader, Record, unquoted
from sitelog.language.kinds.kind import NEVER, LogKind
from sitelog.language.syntax.tokens import Token

VISITS = ("install", "service", "removal")


@record
class Site(Record):
    """The site that the log is about."""

    name: str
    title: str


@record
class NamedSheet(Record):
    """A sheet that asks something of this site, with the revision meant where one is said."""

    name: str
    revision: str


@record
class NamedKit(Record):
    """A kit whose tools are used here."""

    name: str


@record
class Crew(Record):
    """One person, and what they are on this job: `lead`, `apprentice`, …"""

    name: str
    role: str
    full_name: str


@record
class Zone(Record):
    """The time zone of the log's times."""

    name: str


@record
class Visit(Record):
    """The start of a visit: `install`, `service`, `removal`."""

    purpose: str


@record
class Day(Record):
    """The start of a day, with the weather or what else was said of it, and whose day it is."""

    date: date | None
    about: str


@record
class Use(Record):
    """The tools of the entries that follow."""

    tools: tuple[Place, ...]


def read_site(reader: Reader) -> Site:
    """`site NAME ["title"]`."""
    title = next((word for word in reader.words()), "")
    return Site(reader.head(), reader.name(), title)


def read_sheet(reader: Reader) -> NamedSheet:
    """`sheet NAME [revision WORD]`."""
    return NamedSheet(reader.head(), reader.name(), reader.name(1))


def read_kit(reader: Reader) -> NamedKit:
    """`kit NAME`."""
    return NamedKit(reader.head(), reader.name())


def read_crew(reader: Reader) -> Crew:
    """`crew NAME [ROLE]`."""
    words = [part for part in reader.parts if isinstance(part, Token)][1:]
    role = next((word.text for word in words if word.type == "WORD"), "")
    full = next((unquoted(word.text) for word in words if word.type == "STRING"), "")
    return Crew(reader.head(), reader.name(), role.casefold(), full)


def read_zone(reader: Reader) -> Zone | None:
    """`zone Europe/Lisbon`."""
    from zoneinfo import ZoneInfo

    name = reader.name()
    try:
        ZoneInfo(name)
    except (ValueError, OSError, LookupError):
        reader.say("bad-name", f"`{name}` is no time zone", help="a zone is a name such as Europe/Lisbon")
        return None
    return Zone(reader.head(), name)


def read_visit(reader: Reader) -> Visit:
    """`visit install`."""
    purpose = reader.name().casefold()
    if purpose not in VISITS:
        node = reader.nodes("name")[0]
        help = "write " + ", ".join(f"`visit {visit}`" for visit in VISITS[:-1]) + f" or `visit {VISITS[-1]}`"
        reader.say("unreadable", f"`{purpose}` is no sort of visit", node.start, node.end, help)
    return Visit(reader.head(), purpose)


def read_day(reader: Reader) -> Day | None:
    """`day 2026-03-02 [what the day was like] [by WHO]`."""
    node = reader.node("text")
    tokens = node.tokens() if node is not None else ()
    if not tokens:
        return None
    by: tuple[str, ...] = ()
    end = tokens[-1].end
    if len(tokens) > 2 and tokens[-2].type == "BY":
        by, end = (tokens[-1].text,), tokens[-2].start
    day = reader.date(tokens[0])
    head = reader.head()._replace(by=by)
    return Day(head, day, reader.entry.text[tokens[0].end : end].strip())


def read_use(reader: Reader) -> Use:
    """`use TOOL, TOOL`."""
    node = reader.node("names")
    tokens = node.tokens() if node is not None else ()
    names: list[Place] = []
    for token in tokens:
        if token.type != "COMMA":
            names += [Place(name, token.start, token.end) for name in unquoted(token.text).split(",")]
    return Use(reader.head(), tuple(names))


LOG_KINDS = (
    LogKind("site", read_site, 'site quay-14 "Boat store"', repeats=NEVER),
    LogKind("sheet", read_sheet, "sheet wallstack-3 revision C"),
    LogKind("kit", read_kit, "kit van-2"),
    LogKind("crew", read_crew, "crew mo lead"),
    # which zones there are depends on what is installed
    LogKind("zone", read_zone, "zone Europe/Lisbon", repeats=NEVER),
    LogKind("visit", read_visit, "visit install"),
    LogKind("day", read_day, "day 2026-03-02"),
    LogKind("use", read_use, "use MF1, TW3"),
)

"""The records of one site, in order: who did what when, on which visit, with which tools in hand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from types import MappingProxyType

from sitelog.base.frozen import record
from sitelog.files.records import Kit, Log, Sheet
from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.judging.site.observations import EntryContext, LogEntry, Moment, Observation, observations_of
from sitelog.judging.site.strikes import NOTHING_STRUCK, Struck, strike
from sitelog.judging.site.zones import comes_twice
from sitelog.language.kinds.base import Clock, Record
from sitelog.language.kinds.header import Crew, Day, NamedKit, NamedSheet, Site, Use, Visit, Zone
from sitelog.language.kinds.paper import NotApplicable, Received, Sign, Strike, Text

INSTALL = "install"


@record
class VisitPeriod:
    """One visit: its purpose, when it began, and when it was signed for its purpose."""

    index: int
    purpose: str
    day: date | None
    signed: Sign | None = None


@record
class SiteLog:
    """Everything written of one site, in order, with the sheets that ask and the kits it was done with."""

    name: str
    files: tuple[str, ...]
    sheets: tuple[Sheet, ...]
    kits: tuple[Kit, ...]
    visits: tuple[VisitPeriod, ...]
    entries: tuple[LogEntry, ...]
    crew: dict[str, Crew]
    struck: Struck
    findings: tuple[Finding, ...] = ()
    texts: tuple[tuple[str, ...], ...] = ()  # every line of each file as written
    sorts: Mapping[type[object], Sequence[LogEntry]] = MappingProxyType({})  # `written`, for `of`

    def of(self, *sorts: type[Record]) -> Sequence[LogEntry]:
        """What was written of some sorts of record, in order; quicker than to look through all of it."""
        found = [self.sorts[sort] for sort in sorts if sort in self.sorts]
        if len(found) < 2:
            return found[0] if found else ()
        return [one for one in self.entries if one.record.__class__ in sorts]

    def is_struck(self, entry: LogEntry) -> bool:
        """Whether a whole entry was struck."""
        return (entry.file, entry.entry.number) in self.struck.lines

    def live_marks(self) -> list[Observation]:
        """Every mark that was not struck, in order."""
        struck = self.struck.observations
        if not struck:
            return [obs for one in self.entries if one.observations for obs in one.observations]
        return [obs for one in self.entries for obs in one.observations if obs.id not in struck]


# A late evening and a small hour: whoever works past midnight forgets that a new day has begun.
_EVENING, _MORNING = 18 * 3600, 6 * 3600

_new = tuple.__new__  # three times as fast as calling a NamedTuple

# The entries that speak of the log itself and need no day.
_HEADER = frozenset({Site, NamedSheet, NamedKit, Crew, Zone, Visit, Day})


class _Walk:
    """The running state while the logs of one site are read from top to bottom."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []
        self.visits: list[VisitPeriod] = []
        self.crew: dict[str, Crew] = {}
        self.written: list[LogEntry] = []
        self.sequence = 0

    # ---- one log ---------------------------------------------------------------------------------
    def log(self, log: Log) -> None:
        self.visit = -1
        self.day: date | None = None
        self.day_by = ""
        self.seconds = 0
        self.zone = ""
        self.tools: dict[str, tuple[str, ...]] = {}
        self.last: dict[tuple[str, date | None], int] = {}
        self.spelt: dict[str, str] = {}  # who is meant, as the crew spells the name
        said_no_day = False
        for _, one in log.lines:
            if isinstance(one, Crew):
                if one.name.casefold() in self.crew and one.role != self.crew[one.name.casefold()].role:
                    self._say(one, "duplicate-name", f"`{one.name}` is named twice, as two things")
                self.crew.setdefault(one.name.casefold(), one)
        self.lead = next((name for name, one in self.crew.items() if one.role == "lead"), "")
        signs = (entry.number for entry, one in reversed(log.lines) if isinstance(one, Sign))
        last_sign = next(signs, 0)
        for entry, one in log.lines:
            if header := one.__class__ in _HEADER:  # one look for them all: most are none of these
                if isinstance(one, Visit):
                    self._visit(one)
                elif isinstance(one, Day):
                    self._day(one)
                    said_no_day |= one.date is None  # a date that could not be read was said already
                elif isinstance(one, Zone):
                    self.zone = one.name
            around = self._around(one, header)
            observations: tuple[Observation, ...] = ()
            if one is not None:
                observations = observations_of(one, around)
                if isinstance(one, Use):
                    who = around.by if one.head.by else ""
                    self.tools[who] = tuple(tool.name for tool in one.tools)
                if around.moment.day is None and not said_no_day and not header:
                    said_no_day = True
                    help = "put `day 2026-03-02` above it"
                    self._say(one, "no-day", "on which day? No `day` stands above", help)
            signed = entry.number <= last_sign
            self.written.append(_new(LogEntry, (entry, log.file, one, around, observations, signed)))

    def _say(
        self, record: Record, slug: str, message: str, help: str = "", at: tuple[int, int] | None = None
    ) -> None:
        entry = record.head.entry
        start, end = at or (entry.start, entry.end)
        self.findings.append(
            finding(slug, message, record.head.file, entry.number, start + 1, end + 1, entry.text, help)
        )

    def _visit(self, record: Visit) -> None:
        same = [stay for stay in self.visits if stay.purpose == record.purpose]
        if record.purpose == INSTALL and same:
            self.visit = same[0].index
        else:
            self.visit = len(self.visits)
            self.visits.append(VisitPeriod(self.visit, record.purpose, None))
        self.tools.clear()

    def _day(self, record: Day) -> None:
        self.day = record.date
        # "hot by noon" names nobody.
        by = record.head.by[0] if record.head.by else ""
        self.day_by = by if by.casefold() in self.crew or not self.crew else ""
        self.seconds = 0
        self.tools.clear()

    def _around(self, record: Record | None, header: bool) -> EntryContext:
        head = record.head if record is not None else None
        opens = header and isinstance(record, Day)
        named = head.by[0] if head is not None and head.by and not opens else self.day_by
        by = named or self.lead
        if head is not None and head.by and not opens and self.crew:
            for name in head.by:
                if name.casefold() not in self.crew and record is not None:
                    self._say(
                        record, "unknown-person", f"`{name}` is not in the crew", f"add `crew {name}` above"
                    )
        day = head.date if head is not None and head.date is not None else self.day
        clock = head.clock if head is not None else None
        if clock is not None:
            before = self.last.get((by, day))
            seconds = clock.seconds
            if before is not None and record is not None and seconds + clock.grain <= before:
                if comes_twice(day, seconds, self.zone):
                    seconds = before  # the clocks were put back in between: the order of writing holds
                else:
                    self._say_back(record, day, clock, before)
            self.last[by, day] = self.seconds = seconds
        if self.visit < 0 and not header:
            self._begin_install()
        self.sequence += 1
        visit = self.visit if self.visit > 0 else 0
        if day is not None and self.visits and self.visits[visit].day is None and (opens or not header):
            stay = self.visits[visit]
            self.visits[visit] = VisitPeriod(stay.index, stay.purpose, day)
        order = (day.toordinal() if day is not None else 0, self.seconds, self.sequence)
        in_use = self.tools.get(by) or self.tools.get("", ())
        moment = _new(Moment, (visit, day, clock, order, self.zone))
        spelt = self.spelt.get(by)
        if spelt is None:
            one = self.crew.get(by.casefold())
            spelt = self.spelt[by] = one.name if one is not None else by
        return _new(EntryContext, (moment, spelt, not named, in_use))

    def _say_back(self, record: Record, day: date | None, clock: Clock, before: int) -> None:
        node = record.head.entry.when
        at = (node.start, node.end) if node is not None else None
        help = ""
        if day is not None and before >= _EVENING and clock.seconds < _MORNING:
            help = f"after midnight, write the date too: {day + timedelta(days=1)} {clock}"
        self._say(record, "time-backwards", f"{clock} is earlier than the entry above it", help, at)

    def _begin_install(self) -> None:
        same = [stay for stay in self.visits if stay.purpose == INSTALL]
        self.visit = same[0].index if same else len(self.visits)
        if not same:
            self.visits.append(VisitPeriod(self.visit, INSTALL, None))


def gather(name: str, logs: Sequence[Log], sheets: Sequence[Sheet], kits: Sequence[Kit]) -> SiteLog:
    """One site from its logs, whose first days put them in order."""
    walk = _Walk()
    for log in sorted(logs, key=_first_day):
        walk.log(log)
    written = sorted(walk.written, key=lambda one: one.context.moment.order)
    sorts: dict[type[object], list[LogEntry]] = defaultdict(list)
    for one in written:
        sorts[one.record.__class__].append(one)
    struck = strike(written, walk.findings) if Strike in sorts else NOTHING_STRUCK
    signs = sorts.get(Sign, ())
    visits = [_signed(stay, signs, struck) for stay in walk.visits] or [VisitPeriod(0, INSTALL, None)]
    return SiteLog(
        name,
        tuple(log.file for log in logs),
        tuple(sheets),
        tuple(kits),
        tuple(visits),
        tuple(written),
        walk.crew,
        struck,
        tuple(walk.findings),
        tuple(log.text for log in logs),
        sorts,
    )


def _first_day(log: Log) -> tuple[date, str]:
    days = [
        line.record.date
        for line in log.lines
        if isinstance(line.record, Day) and line.record.date is not None
    ]
    return (min(days), log.file) if days else (date.min, log.file)


CLOSING = {"install": "installed", "service": "serviced", "removal": "removed"}
"""For each purpose of a visit, the purpose of the signature that closes it."""


def _signed(stay: VisitPeriod, signs: Sequence[LogEntry], struck: Struck) -> VisitPeriod:
    """The visit with the signature that closes it, where there is one."""
    for one in signs:
        record = one.record
        if (
            isinstance(record, Sign)
            and one.context.moment.visit == stay.index
            and record.purpose == CLOSING.get(stay.purpose, record.purpose)
            and (one.file, one.entry.number) not in struck.lines
        ):
            return VisitPeriod(stay.index, stay.purpose, stay.day, record)
    return stay


__all__ = [
    "INSTALL",
    "LogEntry",
    "NotApplicable",
    "Received",
    "SiteLog",
    "Strike",
    "Text",
    "VisitPeriod",
    "gather",
]

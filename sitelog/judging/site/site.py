"""The records of one site, in order: who did what when, on which visit, with which tools in hand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from types import MappingProxyType

from sitelog.base.frozen import record
from sitelog.files.records import Kit, Log, Sheet
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.judging.site.observations import EntryContext, LogEntry, Moment, Observation, observations_of
from sitelog.judging.site.strikes import NOTHING_STRUCK, Struck, strike
from sitelog.judging.site.zones import comes_twice
from sitelog.language.kinds.base import Clock, Record
from sitelog.language.kinds.header import Crew, Day, NamedKit, NamedSheet, Site, Use, Visit, Zone
from sitelog.language.kinds.paper import Sign, Strike

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
    by_record: Mapping[type[object], Sequence[LogEntry]] = MappingProxyType({})  # the entries again, for `of`

    def of(self, *records: type[Record]) -> Sequence[LogEntry]:
        """The entries of some classes of record, in order; quicker than to look through all entries."""
        found = [self.by_record[record] for record in records if record in self.by_record]
        if len(found) < 2:
            return found[0] if found else ()
        return [entry for entry in self.entries if entry.record.__class__ in records]

    def is_struck(self, entry: LogEntry) -> bool:
        """Whether a whole entry was struck."""
        return (entry.file, entry.entry.number) in self.struck.lines

    def live_marks(self) -> list[Observation]:
        """Every observation that was not struck, in order."""
        struck = self.struck.observations
        if not struck:
            return [obs for entry in self.entries if entry.observations for obs in entry.observations]
        return [obs for entry in self.entries for obs in entry.observations if obs.id not in struck]


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
        self.entries: list[LogEntry] = []
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
        for _, line in log.lines:
            if isinstance(line, Crew):
                known = self.crew.setdefault(line.name.casefold(), line)
                if known.role != line.role:
                    self._say(line, "duplicate-name", f"`{line.name}` is named twice, as two things")
        self.lead = next((name for name, person in self.crew.items() if person.role == "lead"), "")
        signs = (entry.number for entry, line in reversed(log.lines) if isinstance(line, Sign))
        last_sign = next(signs, 0)
        for entry, line in log.lines:
            if header := line.__class__ in _HEADER:  # one look for them all: most are none of these
                if isinstance(line, Visit):
                    self._visit(line)
                elif isinstance(line, Day):
                    self._day(line)
                    said_no_day |= line.date is None  # a date that could not be read was said already
                elif isinstance(line, Zone):
                    self.zone = line.name
            context = self._context(line, header)
            observations: tuple[Observation, ...] = ()
            if line is not None:
                observations = observations_of(line, context)
                if isinstance(line, Use):
                    who = context.by if line.head.by else ""
                    self.tools[who] = tuple(tool.name for tool in line.tools)
                if context.moment.day is None and not said_no_day and not header:
                    said_no_day = True
                    help = "put `day 2026-03-02` above it"
                    self._say(line, "no-day", "on which day? No `day` stands above", help)
            signed = entry.number <= last_sign
            self.entries.append(_new(LogEntry, (entry, log.file, line, context, observations, signed)))

    def _say(
        self, record: Record, slug: str, message: str, help: str = "", at: tuple[int, int] | None = None
    ) -> None:
        span = record.head.entry.span(record.head.file, *(at or ()))
        self.findings.append(finding_at(span, slug, message, help))

    def _visit(self, record: Visit) -> None:
        same = [visit for visit in self.visits if visit.purpose == record.purpose]
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

    def _context(self, record: Record | None, header: bool) -> EntryContext:
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
        backwards = False
        if clock is not None:
            before = self.last.get((by, day))
            seconds = clock.seconds
            if before is not None and record is not None and seconds + clock.grain <= before:
                if comes_twice(day, seconds, self.zone):
                    seconds = before  # the clocks were put back in between: the order of writing holds
                else:
                    backwards = True
                    self._say_back(record, day, clock, before)
            self.last[by, day] = self.seconds = seconds
        if self.visit < 0 and not header:
            self._begin_install()
        self.sequence += 1
        visit = self.visit if self.visit > 0 else 0
        if day is not None and self.visits and self.visits[visit].day is None and (opens or not header):
            self.visits[visit] = VisitPeriod(visit, self.visits[visit].purpose, day)
        order = (day.toordinal() if day is not None else 0, self.seconds, self.sequence)
        in_use = self.tools.get(by) or self.tools.get("", ())
        moment = _new(Moment, (visit, day, clock, order, self.zone, backwards))
        spelt = self.spelt.get(by)
        if spelt is None:
            person = self.crew.get(by.casefold())
            spelt = self.spelt[by] = person.name if person is not None else by
        return _new(EntryContext, (moment, spelt, not named, in_use))

    def _say_back(self, record: Record, day: date | None, clock: Clock, before: int) -> None:
        node = record.head.entry.when
        at = (node.start, node.end) if node is not None else None
        help = ""
        if day is not None and before >= _EVENING and clock.seconds < _MORNING:
            help = f"after midnight, write the date too: {day + timedelta(days=1)} {clock}"
        self._say(record, "time-backwards", f"{clock} is earlier than the entry above it", help, at)

    def _begin_install(self) -> None:
        same = [visit for visit in self.visits if visit.purpose == INSTALL]
        self.visit = same[0].index if same else len(self.visits)
        if not same:
            self.visits.append(VisitPeriod(self.visit, INSTALL, None))


def gather(name: str, logs: Sequence[Log], sheets: Sequence[Sheet], kits: Sequence[Kit]) -> SiteLog:
    """One site from its logs, whose first days put them in order.

    `sheets` and `kits` are those that the logs name, each sheet with what it is based on.
    """
    walk = _Walk()
    for log in sorted(logs, key=_first_day):
        walk.log(log)
    entries = sorted(walk.entries, key=lambda entry: entry.context.moment.order)
    by_record: dict[type[object], list[LogEntry]] = defaultdict(list)
    for entry in entries:
        by_record[entry.record.__class__].append(entry)
    struck = strike(entries, walk.findings) if Strike in by_record else NOTHING_STRUCK
    signs = by_record.get(Sign, ())
    visits = [_signed(visit, signs, struck) for visit in walk.visits] or [VisitPeriod(0, INSTALL, None)]
    return SiteLog(
        name,
        tuple(log.file for log in logs),
        tuple(sheets),
        tuple(kits),
        tuple(visits),
        tuple(entries),
        walk.crew,
        struck,
        tuple(walk.findings),
        tuple(log.text for log in logs),
        by_record,
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


def _signed(visit: VisitPeriod, signs: Sequence[LogEntry], struck: Struck) -> VisitPeriod:
    """The visit with the signature that closes it, where there is one."""
    for entry in signs:
        record = entry.record
        if (
            isinstance(record, Sign)
            and entry.context.moment.visit == visit.index
            and record.purpose == CLOSING.get(visit.purpose, record.purpose)
            and (entry.file, entry.entry.number) not in struck.lines
        ):
            return VisitPeriod(visit.index, visit.purpose, visit.day, record)
    return visit

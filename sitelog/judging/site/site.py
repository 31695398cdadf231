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
from sitelog.judging.site.people import leads_named
from sitelog.judging.site.signing import later_than_signed
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
_WHOLE_DAY = 24 * 3600
_HOUR = 3600

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
        self.leads_named = leads_named([line for _, line in log.lines])
        self._choose_lead(0)
        self.first: dict[date | None, Clock] = {}  # the first time written on a day
        self.ordinal = 0  # of the newest day above: a visit without a day comes after it
        self.is_fresh_day = False  # nothing stands between the `day` line and here
        said_no_lead = False
        signs = (entry.number for entry, line in reversed(log.lines) if isinstance(line, Sign))
        last_sign = next(signs, 0)
        for entry, line in log.lines:
            if header := line.__class__ in _HEADER:  # one look for them all: most are none of these
                if isinstance(line, Visit):
                    said_no_day &= self._visit(line)
                    self._choose_lead(entry.number)
                    said_no_lead = False
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
                if observations and not context.by and len(self.leads) > 1 and not said_no_lead:
                    said_no_lead = True
                    message = f"by whom? {' and '.join(self.leads)} are both leads"
                    self._say(line, "which-lead", message, f"add `by {self.leads[0]}`")
            self.is_fresh_day &= header
            signed = entry.number <= last_sign
            self.entries.append(_new(LogEntry, (entry, log.file, line, context, observations, signed)))

    def _say(
        self, record: Record, slug: str, message: str, help: str = "", at: tuple[int, int] | None = None
    ) -> None:
        span = record.head.entry.span(record.head.file, *(at or ()))
        self.findings.append(finding_at(span, slug, message, help))

    def _choose_lead(self, visit_line: int) -> None:
        """Who stands for entries without `by`: the lead named since the last `visit`, else in the header.

        `visit_line` is the number of that line, 0 in the header. Of two leads, neither is taken.
        """
        anywhere = {key: person.name for key, person in self.crew.items() if person.role == "lead"}
        named = self.leads_named.get(visit_line) or self.leads_named[0] or anywhere
        self.leads = tuple(named.values())
        self.lead = self.leads[0] if len(self.leads) == 1 else ""

    def _visit(self, record: Visit) -> bool:
        """Begin a visit; the day above is its own where nothing stands between. Whether it keeps that day."""
        if self.visit >= 0 and not self.is_fresh_day:
            self.day, self.day_by, self.seconds = None, "", 0
        same = [visit for visit in self.visits if visit.purpose == record.purpose]
        if record.purpose == INSTALL and same:
            self.visit = same[0].index
        else:
            self.visit = len(self.visits)
            self.visits.append(VisitPeriod(self.visit, record.purpose, None))
        self.tools.clear()
        return self.day is not None

    def _day(self, record: Day) -> None:
        self.day = record.date
        self.is_fresh_day = True
        self.ordinal = record.date.toordinal() if record.date is not None else self.ordinal
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
            elif before is None and record is not None and head is not None and head.by:
                self._say_early(record, day, clock)
            self.first.setdefault(day, clock)
            self.last[by, day] = self.seconds = seconds
        if self.visit < 0 and not header:
            self._begin_install()
        self.sequence += 1
        visit = self.visit if self.visit > 0 else 0
        if day is not None and self.visits and self.visits[visit].day is None and (opens or not header):
            self.visits[visit] = VisitPeriod(visit, self.visits[visit].purpose, day)
        ordinal, seconds = (day.toordinal(), self.seconds) if day is not None else self._without_day()
        order = (ordinal, seconds, self.sequence)
        in_use = self.tools.get(by) or self.tools.get("", ())
        moment = _new(Moment, (visit, day, clock, order, self.zone, backwards))
        spelt = self.spelt.get(by)
        if spelt is None:
            person = self.crew.get(by.casefold())
            spelt = self.spelt[by] = person.name if person is not None else by
        return _new(EntryContext, (moment, spelt, not named, in_use))

    def _without_day(self) -> tuple[int, int]:
        """The day's number and the seconds by which what has no day is ordered: after all days above."""
        return self.ordinal, self.seconds + (_WHOLE_DAY if self.ordinal else 0)

    def _say_early(self, record: Record, day: date | None, clock: Clock) -> None:
        """Another person may have an earlier time than stands above, but hardly an hour before it all."""
        first = self.first.get(day)
        if first is not None and clock.seconds + _HOUR < first.seconds:
            node = record.head.entry.when
            at = (node.start, node.end) if node is not None else None
            message = f"{clock} is earlier than the first entry of the day, at {first}"
            span = record.head.entry.span(record.head.file, *(at or ()))
            help = "see which of the times is wrong"
            self.findings.append(finding_at(span, "time-backwards", message, help, "info"))

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
    if signs:
        walk.findings += later_than_signed(entries, struck)
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

"""Sites → what is kept of them: each judged by itself, or together with those that share its serials."""

from __future__ import annotations

import marshal
import os
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date, timedelta
from operator import itemgetter

from sitelog.asking.rows import history_of, rows_of
from sitelog.asking.store.keeping import NAMED, KeptSite
from sitelog.asking.store.store import as_stored, wide_columns
from sitelog.asking.subjects import HISTORIES, SUBJECTS, Subject
from sitelog.base.frozen import NamedTuple
from sitelog.files.records import Log, read_kit, read_log, read_sheet
from sitelog.files.source import Source, read
from sitelog.findings.finding import Finding
from sitelog.fleet.index.disk import read_with_digest
from sitelog.fleet.reach import Reach
from sitelog.fleet.site import Work, judge_logs
from sitelog.fleet.workspace import Row
from sitelog.judging.judged import Site, together
from sitelog.judging.uses import uses
from sitelog.language.syntax import kept_in, learnt, use_cache

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

Rows = dict[str, list[Row]]
Read = Callable[[str], tuple[Source, str]]

NAMELESS = "\n"
"""What the key of a log that names no site begins with; its path follows."""


class Job(NamedTuple):
    """A site to be judged: its key, its slot, its logs."""

    key: str
    slot: int
    paths: tuple[str, ...]


class Done(NamedTuple):
    """What is kept of some sites, the digests of the files that were read, and what was learnt of lines."""

    sites: list[KeptSite]
    digests: dict[str, str]
    learnt: dict[str, Any]


class Judging:
    """Judges sites by the sheets and kits in reach, on a day."""

    def __init__(self, reach: Reach, today: date, histories: Sequence[str]) -> None:
        self._reach = reach
        self._today = today
        self._histories = histories
        self._process = os.getpid()

    def together(self, jobs: Sequence[Job], read: Read = read_with_digest) -> Done:
        """Sites judged as one: all that have some serial in common."""
        digests: dict[str, str] = {}
        logs: list[list[Log]] = []
        for job in jobs:
            logs.append([])
            for path in job.paths:
                source, digests[path] = read(path)
                logs[-1].append(read_log(source))
        if jobs[0].key.startswith(NAMELESS):
            return Done([nameless(logs[0][0], jobs[0])], digests, {})
        works = [judge_logs(same, self._reach, self._today) for same in logs]
        sites = together([work.site for work in works])
        kept = []
        for same, work, site, job in zip(logs, works, sites, jobs, strict=True):
            rows: Rows = rows_of(site)
            rows |= {f"{subject}_history": history_of(site, subject) for subject in self._histories}
            kept.append(_kept(same, work, site, job.slot, rows, self._today))
        for site in sites:
            site.judge.let_go()  # or it holds itself: the commands pause the collector of such circles
        return Done(kept, digests, {})

    def one_by_one(self, jobs: Iterable[Job], read: Read = read_with_digest) -> Done:
        """Sites judged each by itself."""
        done = Done([], {}, {})
        for job in jobs:
            one = self.together([job], read)
            done.sites.extend(one.sites)
            done.digests.update(one.digests)
        return done

    def apart(self, jobs: Sequence[Job]) -> bytes:
        """The same in another process, packed; with what that has learnt."""
        if self._process != os.getpid():
            self._process = os.getpid()
            learnt()  # what came with the fork is known to the first
        done = self.one_by_one(jobs)
        known = {role: tuple(some) for role, some in learnt().items()}
        return marshal.dumps(([tuple(one) for one in done.sites], done.digests, known))


def unpacked(packed: bytes) -> Done:
    """What another process did."""
    sites, digests, known = marshal.loads(packed)
    return Done([KeptSite(*one) for one in sites], digests, known)


def begin(
    sheets: Sequence[str], kits: Sequence[str], today: date, histories: Sequence[str], cache: str
) -> Callable[[Sequence[Job]], bytes]:
    """What judges in a process that knows nothing yet."""
    if cache != kept_in():
        use_cache(cache)
    reach = Reach([read_sheet(read(file)) for file in sheets], [read_kit(read(file)) for file in kits], [])
    return Judging(reach, today, histories).apart


def nameless(log: Log, job: Job) -> KeptSite:
    """What is kept of a log that names no site: its errors."""
    errors = {one for one in log.findings if one.severity == "error"}
    first, last = date.min.isoformat(), date.max.isoformat()
    return KeptSite(job.key, job.slot, first, last, len(errors), (), False, [], [], [], {}, {})


def whole(key: str, errors: list[str], needs: list[tuple[str, str]], rows: Rows) -> KeptSite:
    """What is kept of that which belongs to no site."""
    first, last = date.min.isoformat(), date.max.isoformat()
    return KeptSite(key, 0, first, last, 0, (), False, needs, errors, [], names_in(rows), stored(rows))


def _kept(logs: Sequence[Log], work: Work, site: Site, slot: int, rows: Rows, today: date) -> KeptSite:
    own = {log.file for log in logs}
    findings = {one for one in (*work.findings, *site.findings) if one.severity == "error"}
    shared = [one for sheet in work.sheets.values() for one in sheet.findings]
    shared += [one for kit in work.kits.values() for one in kit.findings]
    first, last = _valid(site, today)
    needs = {
        *work.needs,
        *(("serial", stay.serial.casefold()) for stay in site.placements),
        *(("used-sheet", file) for file in work.sheets),
    }
    return KeptSite(
        logs[0].site.casefold(),
        slot,
        first.isoformat(),
        last.isoformat(),
        sum(one.file in own for one in findings),
        tuple(site.summary),
        bool(site.summary.headlines),
        # A site's kits keep their order: tools are listed by it.
        [*sorted(needs), *(("used-kit", file) for file in work.kits)],
        sorted({in_short(one) for one in (*findings, *errors_of(shared)) if one.file not in own}),
        [
            (*tool, day.isoformat(), count)
            for tool, days in uses([site.judge]).items()
            for day, count in days.items()
        ],
        names_in(rows),
        stored(rows),
    )


class _Table(NamedTuple):
    """What is done alike with all rows of a table."""

    named: tuple[tuple[str, int], ...]  # the columns whose texts are kept, by what name, and their places
    wide: tuple[int, ...]


def _table(subject: Subject) -> _Table:
    named = [(one.name, place) for place, one in enumerate(subject.all_columns) if one.name in NAMED]
    named += [
        (f"{subject.stored}.states", place)
        for place, one in enumerate(subject.all_columns)
        if one.name == "states"
    ]
    return _Table(tuple(named), wide_columns(subject))


_TABLES = {one.stored: _table(one) for one in (*SUBJECTS.values(), *HISTORIES.values())}


def stored(rows: Rows) -> dict[str, list[Any]]:
    """Rows as they stand in their tables."""
    return {table: list(as_stored(some, _TABLES[table].wide)) for table, some in rows.items() if some}


def names_in(rows: Rows) -> dict[str, list[str]]:
    """The different texts in the columns that questions name."""
    found: dict[str, set[str]] = {}
    for table, some in rows.items():
        for column, place in _TABLES[table].named:
            found.setdefault(column, set()).update(map(itemgetter(place), some))
    return {
        column: told for column, names in found.items() if (told := sorted(map(str, filter(None, names))))
    }


def errors_of(findings: Collection[Finding]) -> list[Finding]:
    """The errors among findings."""
    return [one for one in findings if one.severity == "error"]


def in_short(one: Finding) -> str:
    """A text for each finding that is equal for equal ones."""
    return repr(tuple(one))


def _valid(site: Site, today: date) -> tuple[date, date]:
    """The first and the last day, today between them, on which the site's rows are the same."""
    if any(flaw.open for flaw in site.nonconformities) or any(
        one.slug == "future-day" for one in site.findings
    ):
        return today, today  # an age counts days; a warning names the day
    days = {one.context.moment.day for one in site.log.entries}
    turns = {turn for day in days if day is not None for turn in (day, day + _DAY, day - _DAY)}
    turns.update(site.due.values())
    earlier = [turn for turn in turns if turn <= today]
    later = [turn for turn in turns if turn > today]
    return max(earlier, default=date.min), min(later, default=date.max) - (_DAY if later else timedelta())


_DAY = timedelta(days=1)

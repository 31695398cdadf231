"""One site, or several that share serials → what is kept of them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import date, timedelta

from sitelog.findings.finding import Finding
from sitelog.frozen import NamedTuple
from sitelog.judge.uses import uses
from sitelog.judged import Site, together
from sitelog.records import Log
from sitelog.rows import history_of, rows_of
from sitelog.store.keeping import KeptSite
from sitelog.workspace import Reach, Row, Work, judge_logs

Rows = dict[str, list[Row]]


class Made(NamedTuple):
    """A site as it is kept, and its rows by table."""

    site: KeptSite
    rows: Rows


def made(
    logs: Sequence[Sequence[Log]], slots: Sequence[int], reach: Reach, today: date, histories: Collection[str]
) -> Iterator[Made]:
    """The sites of logs, each with its slot, judged together: all sites of each of their serials."""
    works = [judge_logs(same, reach, today) for same in logs]
    sites = together([work.site for work in works])
    for same, work, site, slot in zip(logs, works, sites, slots, strict=True):
        rows: Rows = rows_of(site)
        rows |= {f"{subject}_history": history_of(site, subject) for subject in histories}
        yield Made(_kept(same, work, site, slot, today), rows)


def nameless(log: Log, key: str, slot: int) -> KeptSite:
    """What is kept of a log that names no site: its errors."""
    errors = {one for one in log.findings if one.severity == "error"}
    return KeptSite(key, slot, date.min.isoformat(), date.max.isoformat(), len(errors), (), False, (), (), ())


def _kept(logs: Sequence[Log], work: Work, site: Site, slot: int, today: date) -> KeptSite:
    own = {log.file for log in logs}
    findings = {one for one in (*work.findings, *site.findings) if one.severity == "error"}
    shared = [one for sheet in work.sheets.values() for one in sheet.findings]
    shared += [one for kit in work.kits.values() for one in kit.findings]
    first, last = _valid(site, today)
    needs = {
        *work.needs,
        *(("serial", stay.serial.casefold()) for stay in site.stays),
        *(("used-sheet", file) for file in work.sheets),
    }
    return KeptSite(
        logs[0].site.casefold(),
        slot,
        first.isoformat(),
        last.isoformat(),
        sum(one.file in own for one in findings),
        site.summary,
        bool(site.summary.headlines),
        # A site's kits keep their order: tools are listed by it.
        [*sorted(needs), *(("used-kit", file) for file in work.kits)],
        sorted({in_short(one) for one in (*findings, *errors_of(shared)) if one.file not in own}),
        [
            (*tool, day.isoformat(), days.count(day))
            for tool, days in uses([site.judge]).items()
            for day in dict.fromkeys(days)
        ],
    )


def errors_of(findings: Collection[Finding]) -> list[Finding]:
    """The errors among findings."""
    return [one for one in findings if one.severity == "error"]


def in_short(one: Finding) -> str:
    """A text for each finding that is equal for equal ones."""
    return repr(tuple(one))


def _valid(site: Site, today: date) -> tuple[date, date]:
    """The first and the last day, today between them, on which the site's rows are the same."""
    if any(flaw.open for flaw in site.flaws) or any(one.slug == "future-day" for one in site.findings):
        return today, today  # an age counts days; a warning names the day
    days = {one.around.moment.day for one in site.log.written}
    turns = {turn for day in days if day is not None for turn in (day, day + _DAY, day - _DAY)}
    turns.update(site.due.values())
    earlier = [turn for turn in turns if turn <= today]
    later = [turn for turn in turns if turn > today]
    return max(earlier, default=date.min), min(later, default=date.max) - (_DAY if later else timedelta())


_DAY = timedelta(days=1)

"""Judged sites → what an index keeps of them: their rows, and what those rest on."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, timedelta
from operator import itemgetter

from sitelog.asking.rows import history_of, rows_of
from sitelog.asking.store.keeping import NAMED, KeptSite
from sitelog.asking.store.store import as_stored, wide_columns
from sitelog.asking.subjects import HISTORIES, SUBJECTS, Subject
from sitelog.base.frozen import NamedTuple
from sitelog.findings.finding import Finding
from sitelog.fleet.many import LogFile
from sitelog.fleet.site import JudgedSite
from sitelog.fleet.workspace import Row
from sitelog.judging.judged import Site, together
from sitelog.judging.tool_uses import uses

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

Rows = dict[str, list[Row]]

NAMELESS = "\n"
"""What the key of a log that names no site begins with; its path follows."""

NO_SLOT = 0
"""The slot of a site that has none yet."""


def kept_sites(histories: Sequence[str], judged: Sequence[JudgedSite]) -> list[KeptSite]:
    """What is kept of sites that share serials, in no slot yet, with the rows of some histories."""
    found: list[KeptSite] = []
    sites = together([alone.site for alone in judged])
    for alone, site in zip(judged, sites, strict=True):
        rows: Rows = rows_of(site)
        rows |= {f"{subject}_history": history_of(site, subject) for subject in histories}
        found.append(_kept(alone._replace(site=site), rows))
    return found


def kept_alone(histories: Sequence[str], judged: JudgedSite) -> KeptSite:
    """What is kept of a site that shares no serial with another."""
    return kept_sites(histories, [judged])[0]


def nameless(file: LogFile) -> KeptSite:
    """What is kept of a log that names no site: its errors."""
    errors = {fault for fault in file.findings if fault.severity == "error"}
    first, last = date.min.isoformat(), date.max.isoformat()
    return KeptSite(
        f"{NAMELESS}{file.path}", NO_SLOT, first, last, len(errors), (), False, [], [], [], {}, {}
    )


def whole(key: str, errors: list[str], needs: list[tuple[str, str]], rows: Rows) -> KeptSite:
    """What is kept of that which belongs to no site."""
    first, last = date.min.isoformat(), date.max.isoformat()
    return KeptSite(key, NO_SLOT, first, last, 0, (), False, needs, errors, [], names_in(rows), stored(rows))


def _kept(judged: JudgedSite, rows: Rows) -> KeptSite:
    site = judged.site
    own = {log.file for log in judged.logs}
    findings = {fault for fault in (*judged.findings, *site.findings) if fault.severity == "error"}
    shared = [fault for sheet in judged.sheets.values() for fault in sheet.findings]
    shared += [fault for kit in judged.kits.values() for fault in kit.findings]
    first, last = _valid(site)
    needs = {
        *judged.needs,
        *(("serial", placement.serial.casefold()) for placement in site.placements),
        *(("used-sheet", file) for file in judged.sheets),
    }
    return KeptSite(
        judged.logs[0].site.casefold(),
        NO_SLOT,
        first.isoformat(),
        last.isoformat(),
        sum(fault.file in own for fault in findings),
        tuple(site.summary),
        bool(site.summary.headlines),
        # A site's kits keep their order: tools are listed by it.
        [*sorted(needs), *(("used-kit", file) for file in judged.kits)],
        sorted({in_short(fault) for fault in (*findings, *errors_of(shared)) if fault.file not in own}),
        [
            (*tool, day.isoformat(), count)
            for tool, days in uses([site]).items()
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
    names = [column.name for column in subject.all_columns]
    named = [(name, place) for place, name in enumerate(names) if name in NAMED]
    named += [(f"{subject.stored}.states", place) for place, name in enumerate(names) if name == "states"]
    return _Table(tuple(named), wide_columns(subject))


_TABLES = {subject.stored: _table(subject) for subject in (*SUBJECTS.values(), *HISTORIES.values())}


def stored(rows: Rows) -> dict[str, list[Any]]:
    """Rows as they stand in their tables."""
    return {table: list(as_stored(found, _TABLES[table].wide)) for table, found in rows.items() if found}


def names_in(rows: Rows) -> dict[str, list[str]]:
    """The different texts in the columns that questions name."""
    found: dict[str, set[str]] = {}
    for table, of_table in rows.items():
        for column, place in _TABLES[table].named:
            found.setdefault(column, set()).update(map(itemgetter(place), of_table))
    texts = {column: sorted(map(str, filter(None, names))) for column, names in found.items()}
    return {column: names for column, names in texts.items() if names}


def errors_of(findings: Collection[Finding]) -> list[Finding]:
    """The errors among findings."""
    return [fault for fault in findings if fault.severity == "error"]


def in_short(finding: Finding) -> str:
    """A text for each finding that is equal for equal ones."""
    return repr(tuple(finding))


def _valid(site: Site) -> tuple[date, date]:
    """The first and the last day, today between them, on which the site's rows are the same."""
    today = site.today
    if any(defect.open for defect in site.nonconformities) or any(
        fault.slug == "future-day" for fault in site.findings
    ):
        return today, today  # an age counts days; a warning names the day
    days = {entry.context.moment.day for entry in site.log.entries}
    turns = {turn for day in days if day is not None for turn in (day, day + _DAY, day - _DAY)}
    turns.update(site.due.values())
    earlier = [turn for turn in turns if turn <= today]
    later = [turn for turn in turns if turn > today]
    return max(earlier, default=date.min), min(later, default=date.max) - (_DAY if later else timedelta())


_DAY = timedelta(days=1)

"""One site in figures, and what stands above every answer about it."""

from __future__ import annotations

import os
from collections.abc import Sequence

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import FAILING, NOT_APPLICABLE
from sitelog.findings.finding import Finding
from sitelog.judging.log_findings import Unfinished
from sitelog.judging.results import Result
from sitelog.judging.site import SiteLog
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.paper import Text


class Summary(NamedTuple):
    """One site in figures; the fields are those of `check --format json`, and the headlines."""

    site: str
    file: str | None
    sheets: tuple[str, ...]
    joints: int
    joints_under: int
    readings: int
    readings_failing: int
    defects_open: int
    missing: int
    errors: int
    warnings: int
    ready: bool
    headlines: tuple[str, ...]


def summary_of(
    log: SiteLog,
    results: Sequence[Result],
    findings: Sequence[Finding],
    unfinished: Unfinished,
    gaps: int,
    unread: Sequence[Finding] = (),
) -> Summary:
    """The figures of a site.

    `findings` are all of its files; `gaps` counts what is still to do; `unread` are the errors in the lines
    of its logs, sheets and kits, which are counted too.
    """
    asked = [result for result in results if result.requirement is not None]
    joints = [result for result in asked if row_of(result.kind).subject == "joints"]
    readings = [result for result in asked if row_of(result.kind).subject == "readings"]
    errors = len({finding for finding in (*findings, *unread) if finding.severity == "error"})
    return Summary(
        log.name,
        log.files[0] if len(log.files) == 1 else None,
        tuple(sheet.name for sheet in log.sheets),
        sum(result.verdict != NOT_APPLICABLE for result in joints),
        sum(_has(result, _UNDER) for result in joints if result.reasons),
        sum(result.verdict != NOT_APPLICABLE for result in readings),
        sum(_has(result, FAILING) for result in readings if result.reasons),
        sum(defect.open for defect in unfinished.nonconformities),
        sum(result.verdict == "missing" for result in results),
        errors,
        len({finding for finding in findings if finding.severity == "warning"}),
        not errors and not gaps and bool(log.sheets),
        (*_headlines(unfinished), *_lines_to_mend(log, unread)),
    )


def with_more(summary: Summary, more: Sequence[Finding]) -> Summary:
    """The figures of a site with `more`, the errors that show only when all sites are seen."""
    return summary._replace(errors=summary.errors + len(more), ready=False) if more else summary


def _headlines(unfinished: Unfinished) -> list[str]:
    found = [
        f"DANGER {defect.name}: {defect.about}"
        for defect in unfinished.nonconformities
        if defect.open and defect.grade == "danger"
    ]
    if unfinished.away is not None and isinstance(unfinished.away.record, Text):
        day = unfinished.away.context.moment.day
        since = f" since {day}" if day is not None else ""
        found.append(f"left half way{since}: {unfinished.away.record.words or 'no state given'}")
    return found


def _lines_to_mend(log: SiteLog, unread: Sequence[Finding]) -> list[str]:
    """A headline for each sheet and kit with lines that nobody knows the meaning of."""
    lines: dict[str, list[int]] = {}
    for finding in unread:
        if finding.file not in log.files:
            lines.setdefault(finding.file, []).append(finding.line)
    return [
        f"not complete: what {os.path.basename(file)} says in line {', '.join(map(str, sorted(set(at))))} "
        "cannot be read"
        for file, at in lines.items()
    ]


_UNDER = frozenset({"under"})


def _has(result: Result, verdicts: frozenset[str]) -> bool:
    return any(reason.verdict in verdicts for reason in result.reasons)

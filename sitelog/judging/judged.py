"""One site, judged: its log, the results, the findings, what is still to do, and its summary in figures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sitelog.base.frozen import record, replace
from sitelog.files.signatures import SignatureCheck
from sitelog.findings.finding import Finding
from sitelog.judging.case import Case
from sitelog.judging.defects import Nonconformity
from sitelog.judging.evidence import comparable_key
from sitelog.judging.gaps import Gap, gaps_of
from sitelog.judging.judge import Judge
from sitelog.judging.log_findings import log_findings, unfinished
from sitelog.judging.near import near_names
from sitelog.judging.overdue import overdue_findings, overdue_of
from sitelog.judging.placements import Placement, parts_left, placements_across
from sitelog.judging.result_findings import findings_of
from sitelog.judging.results import Result
from sitelog.judging.site import LogEntry, Observation, SiteLog
from sitelog.judging.site.observations import ObservationId
from sitelog.judging.stages import Stage, stages
from sitelog.judging.summary import Summary, summary_of, with_more
from sitelog.judging.tools import Toolbox
from sitelog.language.kinds.header import Site as NamedSite
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Requirement

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Protocol, TypeVar

    class _HasPlacements(Protocol):
        @property
        def name(self) -> str: ...
        @property
        def summary(self) -> Summary: ...
        @property
        def findings(self) -> tuple[Finding, ...]: ...
        @property
        def placements(self) -> tuple[Placement, ...]: ...

    _Joinable = TypeVar("_Joinable", bound=_HasPlacements)

__all__ = ["Gap", "Site", "Summary", "judge_site", "together"]


@record
class Site:
    """One site, judged. `case` is what it was judged from, for whoever looks further."""

    log: SiteLog
    case: Case
    results: tuple[Result, ...]
    findings: tuple[Finding, ...]
    today: date
    signed: frozenset[tuple[str, int]]
    replaced: frozenset[ObservationId]
    away: LogEntry | None
    nonconformities: tuple[Nonconformity, ...]
    summary: Summary
    gaps: tuple[Gap, ...]
    signature_checks: tuple[SignatureCheck, ...]
    stages: tuple[Stage, ...]
    due: dict[int, date]  # by the identity of a result: the day on which it is due again
    placements: tuple[Placement, ...]  # every serial's time at every place

    @property
    def name(self) -> str:
        """The site's name."""
        return self.log.name

    @property
    def title_line(self) -> str:
        """The line that names the site."""
        return next((one.entry.text for one in self.log.entries if isinstance(one.record, NamedSite)), "")

    @property
    def closed(self) -> bool:
        """Whether everything was removed and that is signed: then the site asks for nothing more."""
        return self.case.closed

    @property
    def requirements(self) -> Sequence[Requirement]:
        """Everything that the sheets of the site ask, in their order."""
        return self.case.requirements

    @property
    def observations(self) -> Sequence[Observation]:
        """Everything done or measured that was not struck, in order."""
        return self.case.observations

    @property
    def box(self) -> Toolbox:
        """The tools that its logs can mean."""
        return self.case.box


def judge_site(
    case: Case,
    file_findings: Sequence[Finding],
    checks: Sequence[SignatureCheck] = (),
    unread: Sequence[Finding] = (),
) -> Site:
    """Judge one site.

    `file_findings` are those of its log files, which count in its summary; `checks` are its signatures.
    `unread` are the errors in the lines of its logs, sheets and kits: what such a line asks, or would have
    said, is not known, so each counts in the summary, stands among the gaps, and the site is not complete.
    """
    log = case.log
    judge = Judge(case)
    results = tuple(judge.results())
    open_work = unfinished(log, case.nonconformities)
    findings = [*log.findings, *findings_of(case, results)]
    unknown = {(finding.file, finding.line) for finding in findings if finding.slug == "unknown-place"}
    findings += [
        *near_names(case, results, unknown),
        *case.placement_findings,
        *parts_left(log, case.placements),
        *case.nonconformity_findings,
        *log_findings(log, open_work, case.today),
    ]
    due = _due(judge, results)
    overdue = overdue_of(case, results, due)
    findings += overdue_findings(results, overdue)
    gaps = gaps_of(case, results, open_work, overdue, unread)
    return Site(
        log,
        case,
        results,
        tuple(findings),
        case.today,
        frozenset((entry.file, entry.entry.number) for entry in log.entries if entry.signed),
        _replaced(case, results),
        open_work.away,
        open_work.nonconformities,
        summary_of(log, results, [*file_findings, *findings], open_work, len(gaps), unread),
        gaps,
        tuple(checks),
        tuple(stages(case, results)),
        due,
        tuple(case.placements),
    )


def together(sites: Sequence[_Joinable]) -> list[_Joinable]:
    """The sites with what shows only when all are seen: where parts moved, and serials on two of them.

    They are whole, or any record with a site's `name`, `summary`, `findings` and `placements`.
    """
    joined: list[_Joinable] = []
    known = placements_across([(site.name, site.placements) for site in sites])
    for site, (placements, more) in zip(sites, known, strict=True):
        summary = with_more(site.summary, more)
        findings = (*site.findings, *more)
        joined.append(replace(site, placements=tuple(placements), findings=findings, summary=summary))
    return joined


def _due(judge: Judge, results: Sequence[Result]) -> dict[int, date]:
    """When each thing that is asked again and again is due the next time, by its newest result."""
    newest = {
        result.requirement.key: result
        for result in results
        if result.requirement is not None and result.requirement.every
    }
    days = ((result, judge.due_again(result)) for result in newest.values())
    return {id(result): day for result, day in days if day is not None}


def _replaced(case: Case, results: Sequence[Result]) -> frozenset[ObservationId]:
    """Live observations that a newer one under the same conditions stands in place of."""
    older: set[ObservationId] = set()
    for key, observations in case.evidence.items():
        if len(observations) > 1 and row_of(key.kind).replaces:
            live = [obs for obs in observations if obs.live]
            if len(live) < 2:
                continue
            newest = {comparable_key(obs): obs.id for obs in live}
            older.update(obs.id for obs in live if obs.id != newest[comparable_key(obs)])
    if not older:
        return frozenset()
    return frozenset(older - {result.observation.id for result in results if result.observation is not None})

"""One judged site → a case for each requirement of its sheets, and for each fault besides."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import FAILING, Reason
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding, Span
from sitelog.judging.judged import Site
from sitelog.judging.result_findings import severity_of
from sitelog.judging.results import Result
from sitelog.language.kinds.kind import row_of

PASS, OPEN, FAILED = "pass", "open", "failed"


class SuiteCase(NamedTuple):
    """A requirement, or a fault: `failed` with an error, `open` where it neither fails nor passes.

    `group` is the sheet that asks, or `log`; `verdict` is empty for a fault; `findings` are its reasons.
    """

    group: str
    name: str
    outcome: str
    verdict: str
    findings: tuple[Finding, ...]


def cases_of(site: Site, findings: Iterable[Finding]) -> list[SuiteCase]:
    """The cases of a site; `findings` are all that stand in its files, those of its results among them."""
    asked = [result for result in site.results if result.requirement is not None]
    found = [_case(site, result) for result in asked]
    said, anywhere = set[tuple[str, int, str]](), {"missing", "signed-with-missing", "blank-left"}
    for result in asked:
        stands = result.observation or result.near
        for reason in result.reasons:
            if stands is not None:
                said.add((stands.file, stands.line, reason.slug))
            else:
                anywhere.add(reason.slug)
    others = (
        finding
        for finding in findings
        if finding.slug not in anywhere and (finding.file, finding.line, finding.slug) not in said
    )
    return list(_named_apart([*found, *faults(others)]))


def faults(findings: Iterable[Finding], group: str = "log") -> list[SuiteCase]:
    """A case for each error and warning; what is only an info is none."""
    return [
        SuiteCase(
            group,
            f"{finding.slug}: {finding.message}",
            FAILED if finding.severity == "error" else OPEN,
            "",
            (finding,),
        )
        for finding in findings
        if finding.severity in ("error", "warning")
    ]


def _case(site: Site, result: Result) -> SuiteCase:
    asked = result.requirement
    assert asked is not None
    reasons = tuple(_told(site, result, reason) for reason in result.reasons)
    if result.verdict in FAILING or any(finding.severity == "error" for finding in reasons):
        outcome = FAILED
    else:
        outcome = PASS if result.verdict == "pass" else OPEN
    visit = f", visit {result.visit + 1}" if result.visit else ""
    return SuiteCase(asked.sheet, f"{asked.name}{visit}", outcome, result.verdict, reasons)


def _told(site: Site, result: Result, reason: Reason) -> Finding:
    """A reason as a finding: at the entry it is about, else at the line of the sheet that asks."""
    asked, stands = result.requirement, result.observation or result.near
    assert asked is not None
    message = reason.message
    # Of a hole both sizes are judged, and only one has its limits beside the verdict.
    if (
        reason.verdict in ("under", "over", "doubtful")
        and result.beside
        and row_of(result.kind).judged != "two sizes"
    ):
        message += f" ({result.beside})"
    slug = reason.slug or reason.verdict
    severity = severity_of(site.log, result, reason) if reason.slug else "info"
    if stands is None:
        span = Span(asked.file, asked.line, text=asked.text)
    else:
        span = stands.record.head.entry.span(stands.file, stands.start, stands.end)
    return finding_at(span, slug, message, reason.help, severity)


def _named_apart(cases: Iterable[SuiteCase]) -> Iterator[SuiteCase]:
    """The cases with a number behind a name that is there already: a server would take two for one."""
    seen: Counter[tuple[str, str]] = Counter()
    for case in cases:
        key = case.group, case.name
        seen[key] += 1
        yield case._replace(name=f"{case.name} ({seen[key]})") if seen[key] > 1 else case

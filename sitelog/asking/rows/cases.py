"""One judged site → a case for each thing its sheets ask, and for each fault beside."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import FAILING, Reason
from sitelog.findings.finding import Finding
from sitelog.judging.judged import Site
from sitelog.judging.report import severity_of
from sitelog.judging.results import Result
from sitelog.language.kinds.kind import row_of

PASS, OPEN, FAILED = "pass", "open", "failed"


class Case(NamedTuple):
    """One thing asked, or one fault: `failed` with an error, `open` where it neither fails nor passes.

    `group` is the sheet that asks, or `log`; `verdict` is empty for a fault; `told` are its reasons.
    """

    group: str
    name: str
    outcome: str
    verdict: str
    told: tuple[Finding, ...]


def cases_of(site: Site, findings: Iterable[Finding]) -> list[Case]:
    """The cases of a site; `findings` are all that stand in its files, those of its results among them."""
    asked = [result for result in site.results if result.requirement is not None]
    found = [_case(site, result) for result in asked]
    told, anywhere = set[tuple[str, int, str]](), {"missing", "signed-with-missing", "blank-left"}
    for result in asked:
        stands = result.observation or result.near
        for reason in result.reasons:
            if stands is not None:
                told.add((stands.file, stands.line, reason.slug))
            else:
                anywhere.add(reason.slug)
    others = (
        one for one in findings if one.slug not in anywhere and (one.file, one.line, one.slug) not in told
    )
    return list(_named_apart([*found, *faults(others)]))


def faults(findings: Iterable[Finding], group: str = "log") -> list[Case]:
    """A case for each error and warning; what is only an info is none."""
    return [
        Case(group, f"{one.slug}: {one.message}", FAILED if one.severity == "error" else OPEN, "", (one,))
        for one in findings
        if one.severity in ("error", "warning")
    ]


def _case(site: Site, result: Result) -> Case:
    asked = result.requirement
    assert asked is not None
    told = tuple(_told(site, result, reason) for reason in result.reasons)
    if result.verdict in FAILING or any(one.severity == "error" for one in told):
        outcome = FAILED
    else:
        outcome = PASS if result.verdict == "pass" else OPEN
    visit = f", visit {result.visit + 1}" if result.visit else ""
    return Case(asked.sheet, f"{asked.name}{visit}", outcome, result.verdict, told)


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
        return Finding(slug, severity, message, reason.help, asked.file, asked.line, 1, 2, asked.text)
    entry = stands.record.head.entry
    where = stands.file, stands.line, stands.start + 1, stands.end + 1, entry.text
    return Finding(slug, severity, message, reason.help, *where)


def _named_apart(cases: Iterable[Case]) -> Iterator[Case]:
    """The cases with a number behind a name that is there already: a server would take two for one."""
    seen: Counter[tuple[str, str]] = Counter()
    for one in cases:
        key = one.group, one.name
        seen[key] += 1
        yield one._replace(name=f"{one.name} ({seen[key]})") if seen[key] > 1 else one

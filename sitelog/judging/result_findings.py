"""Results → findings: one for each thing to say, places with the same fault together."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import NOT_APPLICABLE, Reason
from sitelog.findings.catalog import CATALOG, finding_at
from sitelog.findings.finding import Finding, Span
from sitelog.judging.blanks import Blank, blanks, waiting_for
from sitelog.judging.case import Case
from sitelog.judging.evidence import Key
from sitelog.judging.name_findings import sheet_name_findings, unknown_names
from sitelog.judging.results import Result
from sitelog.judging.site import Observation, SiteLog
from sitelog.judging.standing import Standing
from sitelog.judging.tool_findings import tool_findings
from sitelog.language.kinds.header import NamedSheet
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.paper import NotApplicable
from sitelog.notation.places import compress

_WORSE_WHEN_SIGNED = frozenset({"missing", "pre-only", "reopened", "not-tested"})
_ABOUT_A_VALUE = frozenset(
    {"under", "over", "under-torque", "over-torque", "probability-low", "wrong-test-voltage"}
)


class _Fault(NamedTuple):
    """What results have in common that are told in one finding, with their places together."""

    where: tuple[str, int]  # a file and a line; where it stands in no log, the sheet that asks and the visit
    slug: str
    pieces: tuple[str, ...]  # the message around the place
    help: str
    kind: str
    visit: int


def findings_of(case: Case, results: Sequence[Result]) -> list[Finding]:
    """What there is to say about the results of one site, its tools and the names in its logs and sheets."""
    groups: dict[_Fault, list[tuple[Result, Reason]]] = {}
    forms = blanks(case.log, case.names)
    waiting: dict[int, Blank] = {}
    for result in results:
        for reason in result.reasons:
            if not reason.slug or (reason.slug == "no-limit" and result.requirement is None):
                continue
            where: tuple[str, int]
            if (obs := result.observation or result.near) is not None:
                where = (obs.file, obs.line)
            elif result.requirement is not None and (
                blank := waiting_for(result.requirement, forms, case.names)
            ):
                waiting[id(result)] = blank
                where = (blank.written.file, blank.written.entry.number)
            else:
                where = (result.requirement.sheet if result.requirement else "", result.visit)
            fault = _Fault(where, reason.slug, reason.pieces, reason.help, result.kind, result.visit)
            groups.setdefault(fault, []).append((result, reason))
    found = [_finding(case.log, group, waiting.get(id(group[0][0]))) for group in groups.values()]
    found += _live_work(case)
    found += _done_and_excused(case, results)
    found += _serials_left_blank(
        case, forms, {finding.line for finding in found if finding.slug == "blank-left"}
    )
    found += unknown_names(case, results)
    found += _found_wrong_unasked(results)
    found += case.by_sheets.once(sheet_name_findings)
    found += tool_findings(case, results)
    return found


def _found_wrong_unasked(results: Iterable[Result]) -> list[Finding]:
    """Looks that no sheet asks and whose newest answer is that something is not as it should be."""
    found: list[Finding] = []
    for result in results:
        obs = result.observation
        if (
            result.requirement is None
            and obs is not None
            and row_of(result.kind).judged == "answer"
            and obs.word.startswith("not ")
        ):
            about = f"{result.what} {result.place}".strip()
            why = obs.record.head.entry.remark
            message = f"{about}: {obs.word}" + (f": {why}" if why else "")
            help = "put it right and look again, or write it as a defect"
            found.append(finding_at(obs.record.head.entry.span(obs.file), "not-ok", message, help))
    return found


def severity_of(site: SiteLog, result: Result, reason: Reason) -> str:
    """How grave a reason is: as its slug is, but an error where something open was signed all the same.

    Raises KeyError for a reason without a slug, which makes no finding.
    """
    if reason.verdict in _WORSE_WHEN_SIGNED and site.visits[_visit(result, reason)].signed is not None:
        return "error"
    return CATALOG[reason.slug].severity


def _visit(result: Result, reason: Reason) -> int:
    return reason.visit if reason.visit >= 0 else result.visit


def _finding(log: SiteLog, group: Sequence[tuple[Result, Reason]], blank: Blank | None) -> Finding:
    result, reason = group[0]
    message = compress(dict.fromkeys(other.place for other, _ in group)).join(reason.pieces)
    slug, severity, help = reason.slug, severity_of(log, result, reason), reason.help
    signed = log.visits[_visit(result, reason)].signed
    if reason.slug == "missing" and signed is not None:
        slug = "signed-with-missing"
        message += f", and {signed.who} has signed"
    if reason.slug in _ABOUT_A_VALUE and result.beside:
        message += f" ({result.beside})"
    observations = [obs for other, _ in group if (obs := other.observation or other.near) is not None]
    if observations:
        start, end = min(obs.start for obs in observations), max(obs.end for obs in observations)
        first = observations[0]
        span = first.record.head.entry.span(first.file, start, end)
    elif blank is not None:
        slug = "blank-left" if slug == "missing" else slug
        span = blank.written.entry.span(blank.written.file, blank.start, blank.end)
    else:
        named = _naming(log, result)
        span = named or Span(log.files[0])
        source = result.requirement.source if result.requirement is not None else ""
        if named is not None and source and slug in ("missing", "signed-with-missing"):
            help = help or f"asked by {source}"
    return finding_at(span, slug, message, help, severity)


def _naming(log: SiteLog, result: Result) -> Span | None:
    """The entry that names the sheet which asks: what is missing stands nowhere, and is said there."""
    sheet = result.requirement.sheet.casefold() if result.requirement is not None else ""
    for entry in log.of(NamedSheet):
        if isinstance(entry.record, NamedSheet) and entry.record.name.casefold() == sheet:
            return entry.entry.span(entry.file)
    return None


def _done_and_excused(case: Case, results: Sequence[Result]) -> list[Finding]:
    """Each `n/a` of something that the log has evidence of: one of them is wrong, and the evidence counts."""
    groups: dict[tuple[str, int], list[tuple[Result, Observation]]] = {}
    excuses: dict[tuple[str, int], NotApplicable] = {}
    for result in results if case.excused else ():
        obs = result.observation
        if result.requirement is None or obs is None or result.verdict == NOT_APPLICABLE:
            continue
        if (excuse := case.excuse_of(result.requirement)) is not None:
            where = excuse.head.file, excuse.head.entry.number
            excuses[where] = excuse
            groups.setdefault(where, []).append((result, obs))
    found: list[Finding] = []
    for where, group in groups.items():
        lines = compress([str(line) for line in dict.fromkeys(obs.line for _, obs in group)])
        names = ", ".join(dict.fromkeys(result.requirement.name for result, _ in group if result.requirement))
        message = f"{names} is n/a here, and done by line {lines}; what was done is judged"
        help = "strike the one that is wrong"
        found.append(finding_at(excuses[where].head.entry.span(where[0]), "done-and-na", message, help))
    return found


def _serials_left_blank(
    case: Case, forms: Mapping[Key, Sequence[Blank]], said: Collection[int]
) -> list[Finding]:
    """Each blank serial of a part that was swapped before anybody read it; `said` are lines told already."""
    found: list[Finding] = []
    for key, waiting in forms.items():
        if row_of(key.kind).judged != "serial":
            continue
        swaps = [obs for obs in case.evidence.of(key) if obs.mode == "swap"]
        for blank in waiting:
            order = blank.written.context.moment.order
            swap = next((obs for obs in swaps if obs.moment.order > order), None)
            if swap is None or blank.written.entry.number in said:
                continue
            message = (
                f"the serial that sat at {swap.place} before the swap in line {swap.line} was never read"
            )
            help = "write it where the blank is; it stands on the part that was taken out"
            span = blank.written.entry.span(blank.written.file, blank.start, blank.end)
            found.append(finding_at(span, "blank-left", message, help, "warning"))
    return found


_UNDONE = {"loosed": "loosed", "swap": "swapped", "removed": "removed"}


def _live_work(case: Case) -> list[Finding]:
    """Joints undone and parts taken out with the breaker on, whether or not a sheet asks for it off.

    Whoever has locked it and proved a circuit dead since the last switching on has made safe.
    """
    standing = Standing(case)
    groups: dict[tuple[str, int, int], list[Observation]] = {}
    for obs in case.observations:
        if row_of(obs.kind).subject in ("joints", "parts") and obs.mode in _UNDONE:
            last = case.states.last("breaker-on", "", obs.moment.order)
            if (
                last is not None
                and last.what.casefold() == "breaker-on"
                and not standing.is_made_safe(obs.moment, last)
            ):
                groups.setdefault((obs.file, obs.line, last.line), []).append(obs)
    found: list[Finding] = []
    for (_, _, since), observations in groups.items():
        first = observations[0]
        places = compress([obs.place for obs in observations])
        message = f"{places} {_UNDONE[first.mode]} with the breaker on (line {since})"
        help = "breaker off, locked and proved dead before anything is undone"
        span = first.record.head.entry.span(first.file, first.start, first.end)
        found.append(finding_at(span, "live-work", message, help))
    return found


def unique(findings: Iterable[Finding]) -> list[Finding]:
    """Each finding once, in the order of files and lines."""
    return sorted(
        dict.fromkeys(findings),
        key=lambda finding: (finding.file, finding.line, finding.column, finding.slug),
    )

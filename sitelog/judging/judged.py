"""One site, judged: its log, the results, the findings, what is still to do, and its summary in figures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from sitelog.base.frozen import NamedTuple, record, replace
from sitelog.base.verdicts import FAILING, NOT_APPLICABLE
from sitelog.files.signatures import SignatureCheck
from sitelog.findings.catalog import CATALOG
from sitelog.findings.finding import Finding
from sitelog.judging.defects import Nonconformity
from sitelog.judging.judge import Judge
from sitelog.judging.near import near_names
from sitelog.judging.parts import Placement, across, left
from sitelog.judging.report import findings_of
from sitelog.judging.results import Result
from sitelog.judging.site import CLOSING, LogEntry, SiteLog
from sitelog.judging.site.observations import ObservationId
from sitelog.judging.stages import Stage, key_of, stage_names, stages
from sitelog.language.kinds.header import Day
from sitelog.language.kinds.header import Site as NamedSite
from sitelog.language.kinds.paper import Text
from sitelog.language.kinds.requirement import Requirement
from sitelog.notation.places import compress

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


class Gap(NamedTuple):
    """One thing still to do, in words, with the caution that comes before it."""

    site: str
    stage: str
    text: str
    severity: str
    caution: str
    file: str
    line: int


@record
class Site:
    """One site, judged."""

    log: SiteLog
    judge: Judge
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


def judge_site(
    log: SiteLog, judge: Judge, file_findings: Sequence[Finding], held: Sequence[SignatureCheck] = ()
) -> Site:
    """Judge one site; `file_findings` are those of its log files, which count in its summary."""
    results = tuple(judge.results())
    findings = [*log.findings, *findings_of(judge, results)]
    said = {(one.file, one.line) for one in findings if one.slug == "unknown-place"}
    findings += near_names(results, said)
    found = judge.nonconformities
    away = _away(log)
    todos = _todos(log)
    findings += [
        *judge.stay_findings,
        *left(log, judge.stays),
        *judge.nonconformity_findings,
        *_not_lead(judge),
        *_open_defects(log, found),
        *_future_days(log, judge.today),
        *_words(log, away, todos),
    ]
    gaps = tuple(_gaps(log, judge, results, found, away, todos))
    everything = [*file_findings, *findings]
    summary = _summary(log, results, everything, found, away, gaps)
    signed = frozenset((one.file, one.entry.number) for one in log.entries if one.signed)
    return Site(
        log,
        judge,
        results,
        tuple(findings),
        judge.today,
        signed,
        _replaced(judge, results),
        away,
        tuple(found),
        summary,
        gaps,
        tuple(held),
        tuple(stages(judge, results)),
        _due(judge, results),
        tuple(judge.stays),
    )


def together(sites: Sequence[_Joinable]) -> list[_Joinable]:
    """The sites with what shows only when all are seen: where parts moved, and serials on two of them.

    They are whole, or any record with a site's `name`, `summary`, `findings` and `placements`.
    """
    found: list[_Joinable] = []
    for site, (moved, more) in zip(sites, across([(one.name, one.placements) for one in sites]), strict=True):
        summary = with_more(site.summary, more)
        found.append(
            replace(site, placements=tuple(moved), findings=(*site.findings, *more), summary=summary)
        )
    return found


def with_more(summary: Summary, more: Sequence[Finding]) -> Summary:
    """The figures of a site with the errors that show only when all sites are seen."""
    return summary._replace(errors=summary.errors + len(more), ready=False) if more else summary


def _due(judge: Judge, results: Sequence[Result]) -> dict[int, date]:
    """When each thing that is asked again and again is due the next time, by its newest result."""
    newest = {
        result.requirement.key: result
        for result in results
        if result.requirement is not None and result.requirement.every
    }
    days = ((result, judge.due_again(result)) for result in newest.values())
    return {id(result): day for result, day in days if day is not None}


def _replaced(judge: Judge, results: Sequence[Result]) -> frozenset[ObservationId]:
    """Live marks that a newer one under the same conditions stands in place of."""
    older: set[ObservationId] = set()
    for key, observations in judge.evidence.items():
        if len(observations) > 1 and key.kind in ("joint", "reading", "hole", "look", "set"):
            live = [obs for obs in observations if obs.live]
            if len(live) < 2:
                continue
            newest = {obs.condition_key: obs.id for obs in live}
            older.update(obs.id for obs in live if obs.id != newest[obs.condition_key])
    if not older:
        return frozenset()
    return frozenset(older - {result.observation.id for result in results if result.observation is not None})


# ---- leaving, defects, things to do --------------------------------------------------------------
def _live_texts(log: SiteLog, kind: str) -> list[LogEntry]:
    return [
        one
        for one in log.of(Text)
        if isinstance(one.record, Text)
        and one.record.kind == kind
        and (one.file, one.entry.number) not in log.struck.lines
    ]


def _away(log: SiteLog) -> LogEntry | None:
    """The `away` that no `back` follows."""
    away = _live_texts(log, "away")
    back = _live_texts(log, "back")
    if not away or (back and back[-1].context.moment.order > away[-1].context.moment.order):
        return None
    return away[-1]


def _todos(log: SiteLog) -> list[LogEntry]:
    """Each `todo` that no `done` with the same words follows."""
    done = [(one.context.moment.order, _plain(one)) for one in _live_texts(log, "done")]
    return [
        one
        for one in _live_texts(log, "todo")
        if not any(order > one.context.moment.order and words == _plain(one) for order, words in done)
    ]


def _plain(one: LogEntry) -> str:
    assert isinstance(one.record, Text)
    return " ".join(one.record.words.casefold().split()).rstrip(".")


def _at(one: LogEntry, slug: str, message: str, help: str = "", severity: str = "") -> Finding:
    entry = one.entry
    return Finding(
        slug,
        severity or CATALOG[slug].severity,
        message,
        help,
        one.file,
        entry.number,
        entry.start + 1,
        entry.end + 1,
        entry.text,
    )


def _words(log: SiteLog, away: LogEntry | None, todos: Sequence[LogEntry]) -> list[Finding]:
    found: list[Finding] = []
    for todo in todos:
        if isinstance(todo.record, Text):
            words = todo.record.words
            found.append(_at(todo, "todo", f"still to do: {words}", f"when it is done, write `done {words}`"))
    if away is not None and isinstance(away.record, Text):
        words = away.record.words or "nothing was said of the state it was left in"
        found.append(_at(away, "away", f"left half way: {words}", "write `back` when work goes on"))
    return found


def _future_days(log: SiteLog, today: date) -> list[Finding]:
    """Days later than tomorrow: somewhere it is tomorrow already, and nowhere any later."""
    found: list[Finding] = []
    last = log.entries[-1].context.moment.day if log.entries else None  # they stand in the order of days
    for one in log.entries if last is not None and last > today + timedelta(days=1) else ():
        day = one.record.date if isinstance(one.record, Day) else None
        if one.record is not None and one.record.head.date is not None:
            day = one.record.head.date
        if day is not None and day > today + timedelta(days=1):
            message = f"{day} is still to come: today is {today}"
            found.append(_at(one, "future-day", message, "see which year, month or day is wrong"))
    return found


def _open_defects(log: SiteLog, found: Sequence[Nonconformity]) -> list[Finding]:
    findings: list[Finding] = []
    for defect in found:
        if not defect.open:
            continue
        place = f" of {defect.place}" if defect.place else ""
        again = "" if defect.again is None else f" again, first found in line {defect.opened.entry.number}"
        message = f"{defect.name} ({defect.grade}){place} is open{again}: {defect.about}"
        signed = log.visits[defect.since.context.moment.visit].signed
        if defect.grade == "danger":
            findings.append(_at(defect.since, "danger-open", message, "make safe first"))
        elif signed is not None:
            findings.append(
                _at(
                    defect.since,
                    "defect-open",
                    f"{message}, and {signed.who} has signed",
                    severity="error",
                )
            )
        else:
            findings.append(
                _at(
                    defect.since,
                    "defect-open",
                    message,
                    f"when it is put right, write `cleared {defect.name}`",
                )
            )
    return findings


def _not_lead(judge: Judge) -> list[Finding]:
    """`n/a` by somebody who is no lead takes nothing out; a visit is signed by a lead, where one is named."""
    from sitelog.language.kinds.paper import NotApplicable, Sign

    found: list[Finding] = []
    crew = judge.site.crew
    leads = [name.name for name in crew.values() if name.role == "lead"]
    for one in judge.site.of(Sign, NotApplicable):
        if (
            isinstance(one.record, Sign)
            and one.record.purpose in CLOSING.values()
            and leads
            and (one.file, one.entry.number) not in judge.site.struck.lines
        ):
            signer = crew.get(one.record.who.casefold())
            if signer is None:
                message = f"`{one.record.who}` signs and is not in the crew"
                found.append(_at(one, "unknown-person", message, f"add `crew {one.record.who}` above"))
            elif signer.role != "lead":
                message = f"`{signer.name}` is no lead, and signs the visit as {one.record.purpose}"
                found.append(_at(one, "not-a-lead", message, f"let {' or '.join(leads)} sign"))
        if isinstance(one.record, NotApplicable):
            who = judge.site.crew.get(one.context.by.casefold())
            if who is None or who.role != "lead":
                name = one.context.by or "nobody"
                found.append(
                    _at(
                        one,
                        "not-a-lead",
                        f"`{name}` is no lead, so this still counts as missing",
                        "let a lead write it: `by` and the lead's name",
                    )
                )
    return found


# ---- the summary and what is left ----------------------------------------------------------------
def _summary(
    log: SiteLog,
    results: Sequence[Result],
    findings: Sequence[Finding],
    found: Sequence[Nonconformity],
    away: LogEntry | None,
    gaps: Sequence[Gap],
) -> Summary:
    asked = [result for result in results if result.requirement is not None]
    joints = [result for result in asked if result.kind == "joint"]
    readings = [result for result in asked if result.kind in ("reading", "dead", "spread")]
    errors = len({one for one in findings if one.severity == "error"})
    headlines = [
        f"DANGER {defect.name}: {defect.about}"
        for defect in found
        if defect.open and defect.grade == "danger"
    ]
    if away is not None and isinstance(away.record, Text):
        since = f" since {away.context.moment.day}" if away.context.moment.day is not None else ""
        headlines.append(f"left half way{since}: {away.record.words or 'no state given'}")
    return Summary(
        log.name,
        log.files[0] if len(log.files) == 1 else None,
        tuple(sheet.name for sheet in log.sheets),
        sum(result.verdict != NOT_APPLICABLE for result in joints),
        sum(_has(result, _UNDER) for result in joints if result.reasons),
        sum(result.verdict != NOT_APPLICABLE for result in readings),
        sum(_has(result, FAILING) for result in readings if result.reasons),
        sum(defect.open for defect in found),
        sum(result.verdict == "missing" for result in results),
        errors,
        len({one for one in findings if one.severity == "warning"}),
        not errors and not gaps and bool(log.sheets),
        tuple(headlines),
    )


_UNDER = frozenset({"under"})


def _has(result: Result, verdicts: frozenset[str]) -> bool:
    return any(reason.verdict in verdicts for reason in result.reasons)


def _gaps(
    log: SiteLog,
    judge: Judge,
    results: Sequence[Result],
    found: Sequence[Nonconformity],
    away: LogEntry | None,
    todos: Sequence[LogEntry],
) -> list[Gap]:
    """What is left, in the order of the stages and then of the sheets."""
    gaps: list[Gap] = []
    for defect in found:
        if defect.open:
            severity = "error" if defect.grade == "danger" else "warning"
            text = f"defect {defect.name} ({defect.grade}): {defect.about}"
            gaps.append(
                Gap(
                    log.name,
                    "defects",
                    text,
                    severity,
                    "",
                    defect.since.file,
                    defect.since.entry.number,
                )
            )
    stage_of = judge.by_sheets.once(stage_names)
    groups: dict[tuple[str, str, str, int], list[tuple[Result, str]]] = {}
    order: dict[str, int] = {name: at for at, name in enumerate(dict.fromkeys(stage_of.values()))}
    for result in results:
        if not result.open or result.requirement is None:
            continue
        if judge.closed and result.requirement.visit != "removal":
            continue  # what was wrong with it left with it
        reason = result.reasons[0]
        text = reason.message.removeprefix("missing: ")
        if result.place and result.place not in text and result.kind != "spread":
            text = f"{result.requirement.name}: {text}"  # on the stairs no line is at hand
        text = text.replace(result.place, "\0") if result.place else text
        if result.verdict == "missing" and result.kind == "hole":
            text += f" {_hole_text(result.requirement)}"
        stage = stage_of.get(key_of(result.requirement), _NO_STAGE if stage_of else "")
        groups.setdefault((stage, result.verdict, text, result.visit), []).append((result, stage))
    for (stage, verdict, text, _), group in sorted(
        groups.items(), key=lambda item: order.get(item[0][0], len(order))
    ):
        first = group[0][0]
        asked = first.requirement
        assert asked is not None
        words = text.replace("\0", compress(dict.fromkeys(result.place for result, _ in group)))
        if verdict != "missing":
            words = f"{words} [{verdict}]"
        severity = "error" if first.failing else "info" if verdict == "missing" else "warning"
        obs = first.observation
        file, line = (obs.file, obs.line) if obs is not None else (asked.file, asked.line)
        gaps.append(Gap(log.name, stage, words, severity, asked.caution, file, line))
    gaps += (
        Gap(log.name, "to do", one.record.words, "info", "", one.file, one.entry.number)
        for one in todos
        if isinstance(one.record, Text)
    )
    if away is not None:
        words = f"come back: {away.record.words}" if isinstance(away.record, Text) else "come back"
        gaps.append(Gap(log.name, "to do", words, "warning", "", away.file, away.entry.number))
    return gaps


_NO_STAGE = "in no stage"


def _hole_text(asked: Requirement) -> str:
    return f"({asked.limits.text} x {asked.second.text})" if asked.limits.text and asked.second.text else ""

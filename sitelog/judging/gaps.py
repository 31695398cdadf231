"""What is still to do on a site, in words, in the order of the stages and then of the sheets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import around_place
from sitelog.findings.finding import Finding
from sitelog.judging.case import REMOVAL, Case
from sitelog.judging.log_findings import Unfinished
from sitelog.judging.results import Result
from sitelog.judging.stages import key_of, stage_names
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.paper import Text
from sitelog.language.kinds.requirement import Requirement
from sitelog.notation.places import compress


class Gap(NamedTuple):
    """One thing still to do, in words, with the caution that comes before it."""

    site: str
    stage: str
    text: str
    severity: str
    caution: str
    file: str
    line: int


class _Wording(NamedTuple):
    """What gaps have in common that are told in one line, with their places together."""

    stage: str
    verdict: str
    pieces: tuple[str, ...]  # the text around the place
    visit: int


_OVERDUE = "overdue"  # good when it was done, and due again since
_NO_STAGE = "in no stage"


def gaps_of(
    case: Case,
    results: Sequence[Result],
    unfinished: Unfinished,
    overdue: Mapping[int, date],
    unread: Sequence[Finding] = (),
) -> tuple[Gap, ...]:
    """What is left: open defects, lines to mend, what is asked and open or overdue, what is to do.

    `overdue` has the day since when a result is due, by the identity of the result. `unread` are the errors
    in the lines of its logs, sheets and kits.
    """
    site = case.log.name
    return (
        *_defects(site, unfinished),
        *_to_mend(case, unread),
        *_of_results(case, results, overdue),
        *_to_do(site, unfinished),
    )


def _to_mend(case: Case, unread: Iterable[Finding]) -> Iterator[Gap]:
    """Lines with an error: what one asks, or would have said, is not known, so nothing makes up for it."""
    logs = frozenset(case.log.files)
    kits = frozenset(kit.file for kit in case.log.kits)
    for finding in dict.fromkeys(unread):
        role = "log" if finding.file in logs else "kit" if finding.file in kits else "sheet"
        text = f"a line of the {role}: {finding.message}"
        yield Gap(case.log.name, "to mend", text, "error", "", finding.file, finding.line)


def _defects(site: str, unfinished: Unfinished) -> Iterator[Gap]:
    for defect in unfinished.nonconformities:
        if defect.open:
            severity = "error" if defect.grade == "danger" else "warning"
            text = f"defect {defect.name} ({defect.grade}): {defect.about}"
            yield Gap(site, "defects", text, severity, "", defect.since.file, defect.since.entry.number)


def _of_results(case: Case, results: Iterable[Result], overdue: Mapping[int, date]) -> Iterator[Gap]:
    stage_of = case.by_sheets.once(stage_names)
    order = {name: number for number, name in enumerate(dict.fromkeys(stage_of.values()))}
    groups: dict[_Wording, list[Result]] = {}
    for result in results:
        due = overdue.get(id(result))
        if result.requirement is None or not (result.open or due is not None):
            continue
        if case.closed and result.requirement.visit != REMOVAL:
            continue  # what was wrong with it left with it
        stage = stage_of.get(key_of(result.requirement), _NO_STAGE if stage_of else "")
        if due is not None:
            name = around_place(f"{result.requirement.name}: due since {due}", result.place)
            wording = _Wording(stage, _OVERDUE, name, result.visit)
        else:
            wording = _Wording(stage, result.verdict, _pieces(result, result.requirement), result.visit)
        groups.setdefault(wording, []).append(result)
    for wording, group in sorted(groups.items(), key=lambda item: order.get(item[0].stage, len(order))):
        yield _gap(case.log.name, wording, group)


def _pieces(result: Result, requirement: Requirement) -> tuple[str, ...]:
    """The words of a gap around its place."""
    text = result.reasons[0].message.removeprefix("missing: ")
    is_named = len(around_place(text, result.place)) > 1
    if result.place and not is_named and row_of(result.kind).called != "nothing":
        text = f"{requirement.name}: {text}"  # on the stairs no line is at hand
    *first, last = around_place(text, result.place)
    if result.verdict == "missing" and row_of(result.kind).judged == "two sizes":
        last += f" {_hole_text(requirement)}"
    return (*first, last)


def _hole_text(requirement: Requirement) -> str:
    width, depth = requirement.limits.text, requirement.second.text
    return f"({width} x {depth})" if width and depth else ""


def _gap(site: str, wording: _Wording, group: Sequence[Result]) -> Gap:
    first = group[0]
    requirement, obs = first.requirement, first.observation
    assert requirement is not None
    words = compress(dict.fromkeys(result.place for result in group)).join(wording.pieces)
    if wording.verdict not in ("missing", _OVERDUE):
        words = f"{words} [{wording.verdict}]"
    severity = "error" if first.failing else "info" if wording.verdict == "missing" else "warning"
    file, line = (obs.file, obs.line) if obs is not None else (requirement.file, requirement.line)
    return Gap(site, wording.stage, words, severity, requirement.caution, file, line)


def _to_do(site: str, unfinished: Unfinished) -> Iterator[Gap]:
    for todo in unfinished.todos:
        if isinstance(todo.record, Text):
            yield Gap(site, "to do", todo.record.words, "info", "", todo.file, todo.entry.number)
    away = unfinished.away
    if away is not None:
        words = f"come back: {away.record.words}" if isinstance(away.record, Text) else "come back"
        yield Gap(site, "to do", words, "warning", "", away.file, away.entry.number)

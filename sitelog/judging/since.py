"""What happened since the value that counts: undone, begun again, reopened by a swap or a defect, put off."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.base.verdicts import NOT_APPLICABLE, Reason
from sitelog.judging.case import REMOVAL, Case
from sitelog.judging.order import Order
from sitelog.judging.site import Observation
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Requirement


def since(
    case: Case,
    order: Order,
    one: Requirement,
    obs: Observation,
    observations: Sequence[Observation],
    end: int,
) -> list[Reason]:
    """What happened since the value that counts: loosed, begun again, reopened by a swap, put off."""
    reasons: list[Reason] = []
    if obs is not observations[-1] and (
        later := [each for each in observations if each.moment.order > obs.moment.order]
    ):
        reasons += _afterwards(case, order, one, obs, later)
    if case.nonconformities and (defect := _retest(case, one, obs)):
        reasons.append(
            Reason("reopened", "reopened", f"{one.name} is to be tested again: {defect}", "do it again")
        )
    if case.reopenings and (cause := _reopened_by(case, one, obs, end)):
        did = f"{cause.place} was {'swapped' if cause.mode == 'swap' else 'removed'} in line {cause.line}"
        if _dismantling(case, cause):
            reasons.append(Reason(NOT_APPLICABLE, "", f"undone by the removal: {did}"))
        else:
            reasons.append(
                Reason(
                    "reopened",
                    "reopened",
                    f"{one.name} reopened: {did}",
                    "do it again",
                    cause.moment.visit,
                )
            )
    if row_of(one.kind).judged == "serial":
        reasons += _unfit(case, one, obs)
    return reasons


def _unfit(case: Case, one: Requirement, obs: Observation) -> list[Reason]:
    """Why a part cannot stand as it is: it has a defect, or its serial cannot be what the log says."""
    reasons: list[Reason] = []
    wrong = case.untrue.get((obs.file, obs.line, obs.start + 1))
    if wrong is not None and wrong.severity == "error":  # it is a finding of its own, so here only a reason
        reasons.append(Reason("doubtful", "", wrong.message, wrong.help))
    if (defect := case.nonconformity_of(one)) is not None:
        help = f"swap it, or write `cleared {defect.name}` when it is put right"
        reasons.append(
            Reason(
                "not-ok",
                "",
                f"{defect.name} ({defect.grade}) is open: {defect.about}",
                help,
            )
        )
    return reasons


def _afterwards(
    case: Case, order: Order, one: Requirement, obs: Observation, later: Sequence[Observation]
) -> list[Reason]:
    """What was written of the same thing afterwards."""
    reasons: list[Reason] = []
    for other in later:
        if other.mode == "loosed" and _dismantling(case, other):
            reasons.append(Reason(NOT_APPLICABLE, "", f"was loosed for the removal in line {other.line}"))
        elif other.mode in ("loosed", "pre"):
            what = "loosed" if other.mode == "loosed" else "only pre-tightened again"
            reasons.append(
                Reason(
                    "reopened",
                    "reopened",
                    f"{one.place} was {what} in line {other.line}",
                    "tighten it and write the final value",
                    other.moment.visit,
                )
            )
        else:
            continue
        reasons += order.while_(one, other)
        break
    if row_of(one.kind).judged == "serial" and (
        gone := [other for other in later if other.mode == "removed"]
    ):
        reasons.append(Reason(NOT_APPLICABLE, "", f"was removed in line {gone[-1].line}"))
    if any(other.mode == "not-tested" for other in later):
        reasons.append(Reason("not-tested", "not-tested", f"{one.name} was put off afterwards"))
    moved = [other for other in later if other.mode == "moved"]
    if moved and obs not in moved:
        reasons.append(
            Reason(
                "doubtful",
                "doubtful",
                f"{one.place} moved at the re-torque check in line {moved[-1].line}",
                "see why it had lost torque",
            )
        )
    return reasons


def _dismantling(case: Case, obs: Observation) -> bool:
    """Whether a mark belongs to a removal, which asks for nothing to be done again."""
    return case.site.visits[obs.moment.visit].purpose == REMOVAL


def retest_from(case: Case, one: Requirement, before: tuple[int, int, int]) -> tuple[int, int, int]:
    """From where on evidence counted at a moment: behind a defect after which a sheet wants a test again."""
    grades = case.by_sheets.retested.get(one.sheet)
    first = (-1, 0, 0)
    if not grades or not case.nonconformities:
        return first
    places = {case.names.place(one.place), *case.names.place(one.place).split("/")}
    for defect in case.nonconformities:
        found = defect.since.context.moment.order
        if defect.grade in grades and found < before and case.names.place(defect.place) in places:
            cleared = defect.cleared.context.moment.order if defect.cleared is not None else before
            first = max(first, cleared if cleared < before else found)
    return first


def _retest(case: Case, one: Requirement, obs: Observation) -> str:
    """The defect of this place after which a sheet wants it tested again, where it was not since."""
    grades = case.by_sheets.retested.get(one.sheet)
    if not grades or not case.nonconformities:
        return ""
    places = {case.names.place(one.place), *case.names.place(one.place).split("/")}
    for defect in case.nonconformities:
        since = (defect.cleared or defect.since).context.moment.order
        if defect.grade in grades and case.names.place(defect.place) in places and obs.moment.order < since:
            return f"{defect.name} was found here in line {defect.since.entry.number}"
    return ""


def _reopened_by(case: Case, one: Requirement, obs: Observation, end: int) -> Observation | None:
    """The swap or removal after a mark, before the visit that asks anew, that a sheet says reopens it."""
    for reopened, observations in case.reopenings:
        if id(one) in reopened:
            for other in observations:
                if other.moment.order > obs.moment.order and other.moment.visit < end:
                    return other
    return None

"""What happened since the value that counts: undone, begun again, reopened by a swap or a defect, put off."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.base.verdicts import NOT_APPLICABLE, Reason
from sitelog.judging.case import REMOVAL, Case
from sitelog.judging.order import Order
from sitelog.judging.site import Mark
from sitelog.language.kinds.asked import Asked


def since(case: Case, order: Order, one: Asked, mark: Mark, marks: Sequence[Mark], end: int) -> list[Reason]:
    """What happened since the value that counts: loosed, begun again, reopened by a swap, put off."""
    reasons: list[Reason] = []
    if mark is not marks[-1] and (later := [each for each in marks if each.moment.order > mark.moment.order]):
        reasons += _afterwards(case, order, one, mark, later)
    if case.flaws and (defect := _retest(case, one, mark)):
        reasons.append(
            Reason("reopened", "reopened", f"{one.name} is to be tested again: {defect}", "do it again")
        )
    if case.reopenings and (cause := _reopened_by(case, one, mark, end)):
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
    if one.kind == "part":
        reasons += _unfit(case, one, mark)
    return reasons


def _unfit(case: Case, one: Asked, mark: Mark) -> list[Reason]:
    """Why a part cannot stand as it is: it has a defect, or its serial cannot be what the log says."""
    reasons: list[Reason] = []
    wrong = case.untrue.get((mark.file, mark.line, mark.start + 1))
    if wrong is not None and wrong.severity == "error":  # it is a finding of its own, so here only a reason
        reasons.append(Reason("doubtful", "", wrong.message, wrong.help))
    if (flaw := case.flaw_of(one)) is not None:
        help = f"swap it, or write `cleared {flaw.name}` when it is put right"
        reasons.append(Reason("not-ok", "", f"{flaw.name} ({flaw.grade}) is open: {flaw.about}", help))
    return reasons


def _afterwards(case: Case, order: Order, one: Asked, mark: Mark, later: Sequence[Mark]) -> list[Reason]:
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
    if one.kind == "part" and (gone := [other for other in later if other.mode == "removed"]):
        reasons.append(Reason(NOT_APPLICABLE, "", f"was removed in line {gone[-1].line}"))
    if any(other.mode == "not-tested" for other in later):
        reasons.append(Reason("not-tested", "not-tested", f"{one.name} was put off afterwards"))
    moved = [other for other in later if other.mode == "moved"]
    if moved and mark not in moved:
        reasons.append(
            Reason(
                "doubtful",
                "doubtful",
                f"{one.place} moved at the re-torque check in line {moved[-1].line}",
                "see why it had lost torque",
            )
        )
    return reasons


def _dismantling(case: Case, mark: Mark) -> bool:
    """Whether a mark belongs to a removal, which asks for nothing to be done again."""
    return case.site.visits[mark.moment.visit].purpose == REMOVAL


def retest_from(case: Case, one: Asked, before: tuple[int, int, int]) -> tuple[int, int, int]:
    """From where on evidence counted at a moment: behind a defect after which a sheet wants a test again."""
    grades = case.asking.retested.get(one.sheet)
    first = (-1, 0, 0)
    if not grades or not case.flaws:
        return first
    places = {case.names.place(one.place), *case.names.place(one.place).split("/")}
    for flaw in case.flaws:
        found = flaw.since.around.moment.order
        if flaw.grade in grades and found < before and case.names.place(flaw.place) in places:
            cleared = flaw.cleared.around.moment.order if flaw.cleared is not None else before
            first = max(first, cleared if cleared < before else found)
    return first


def _retest(case: Case, one: Asked, mark: Mark) -> str:
    """The defect of this place after which a sheet wants it tested again, where it was not since."""
    grades = case.asking.retested.get(one.sheet)
    if not grades or not case.flaws:
        return ""
    places = {case.names.place(one.place), *case.names.place(one.place).split("/")}
    for flaw in case.flaws:
        since = (flaw.cleared or flaw.since).around.moment.order
        if flaw.grade in grades and case.names.place(flaw.place) in places and mark.moment.order < since:
            return f"{flaw.name} was found here in line {flaw.since.entry.number}"
    return ""


def _reopened_by(case: Case, one: Asked, mark: Mark, end: int) -> Mark | None:
    """The swap or removal after a mark, before the visit that asks anew, that a sheet says reopens it."""
    for reopened, marks in case.reopenings:
        if id(one) in reopened:
            for other in marks:
                if other.moment.order > mark.moment.order and other.moment.visit < end:
                    return other
    return None

"""What reopens evidence: undone, begun again, another part, a defect, put off."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.base.verdicts import NOT_APPLICABLE, Reason
from sitelog.judging.case import Case
from sitelog.judging.order import Order
from sitelog.judging.site import Observation
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Requirement


class Reopening:
    """What happened on one site since a value that counts."""

    def __init__(self, case: Case) -> None:
        self._case = case
        self._order = Order(case)

    def reasons(
        self,
        requirement: Requirement,
        obs: Observation,
        observations: Sequence[Observation],
        end: int,
    ) -> list[Reason]:
        """What happened since the value that counts: loosed, begun again, reopened by a swap, put off.

        `obs` is the value that counts, `observations` are all of the same thing in order, and `end` is the
        index of the visit that asks anew.
        """
        reasons: list[Reason] = []
        if obs is not observations[-1] and (
            later := [each for each in observations if each.moment.order > obs.moment.order]
        ):
            reasons += self._afterwards(requirement, obs, later)
        if (obs.file, obs.line) in self._case.misdated:  # a finding of its own already
            message = f"{requirement.name} is dated later than the signature below it"
            reasons.append(Reason("doubtful", "", message, "see which date is wrong"))
        if len(observations) > 1:
            reasons += _unsure_which(requirement, observations)
        if defect := self._case.retest_after(requirement, obs):
            found_here = f"{defect.name} was found here in line {defect.since.entry.number}"
            message = f"{requirement.name} is to be tested again: {found_here}"
            reasons.append(Reason("reopened", "reopened", message, "do it again"))
        if self._case.reopenings and (cause := self._reopened_by(requirement, obs, end)):
            did = f"{cause.place} was {'swapped' if cause.mode == 'swap' else 'removed'} in line {cause.line}"
            if self._case.is_dismantling(cause):
                reasons.append(Reason(NOT_APPLICABLE, "", f"undone by the removal: {did}"))
            else:
                reasons.append(
                    Reason(
                        "reopened",
                        "reopened",
                        f"{requirement.name} reopened: {did}",
                        "do it again",
                        cause.moment.visit,
                    )
                )
        if row_of(requirement.kind).judged == "serial":
            reasons += self._unfit(requirement, obs)
        return reasons

    def _unfit(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        """Why a part cannot stand as it is: it has a defect, or its serial cannot be what the log says."""
        reasons: list[Reason] = []
        wrong = self._case.impossible.get((obs.file, obs.line, obs.start + 1))
        if wrong is not None and wrong.severity == "error":  # a finding of its own already
            reasons.append(Reason("doubtful", "", wrong.message, wrong.help))
        if (defect := self._case.nonconformity_of(requirement)) is not None:
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
        self, requirement: Requirement, obs: Observation, later: Sequence[Observation]
    ) -> list[Reason]:
        """What was written of the same thing afterwards."""
        reasons: list[Reason] = []
        for other in later:
            if other.mode == "loosed" and self._case.is_dismantling(other):
                reasons.append(Reason(NOT_APPLICABLE, "", f"was loosed for the removal in line {other.line}"))
            elif other.mode in ("loosed", "pre"):
                what = "loosed" if other.mode == "loosed" else "only pre-tightened again"
                reasons.append(
                    Reason(
                        "reopened",
                        "reopened",
                        f"{requirement.place} was {what} in line {other.line}",
                        "tighten it and write the final value",
                        other.moment.visit,
                    )
                )
            else:
                continue
            reasons += self._order.while_(requirement, other)
            break
        if row_of(requirement.kind).judged == "serial" and (
            gone := [other for other in later if other.mode == "removed"]
        ):  # by a removal visit: else the judge has found it missing
            reasons.append(Reason(NOT_APPLICABLE, "", f"was removed in line {gone[-1].line}"))
        if any(other.mode == "not-tested" for other in later):
            reasons.append(Reason("not-tested", "not-tested", f"{requirement.name} was put off afterwards"))
        moved = [other for other in later if other.mode == "moved"]
        if moved and obs not in moved:
            reasons.append(
                Reason(
                    "doubtful",
                    "doubtful",
                    f"{requirement.place} moved at the re-torque check in line {moved[-1].line}",
                    "see why it had lost torque",
                )
            )
        return reasons

    def _reopened_by(self, requirement: Requirement, obs: Observation, end: int) -> Observation | None:
        """The swap or removal that reopens a value: after it, and before the visit that asks anew."""
        for reopened, observations in self._case.reopenings:
            if id(requirement) in reopened:
                for other in observations:
                    if other.moment.order > obs.moment.order and other.moment.visit < end:
                        return other
        return None


def _unsure_which(requirement: Requirement, observations: Sequence[Observation]) -> list[Reason]:
    """A doubt where one of several entries has a time that runs backwards: which came last is not known."""
    unsure = next((obs for obs in observations if obs.moment.backwards), None)
    if unsure is None:
        return []
    message = (
        f"{requirement.name}: the time in line {unsure.line} runs backwards, so which came last is not known"
    )
    return [Reason("doubtful", "doubtful", message, "see which of the times is wrong")]

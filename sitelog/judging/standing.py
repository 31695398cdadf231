"""What stood at a moment in the job: whether a requirement was met just then, not at any time before."""

from __future__ import annotations

from collections.abc import Iterable

from sitelog.base.verdicts import worst
from sitelog.judging.case import REMOVAL, Case
from sitelog.judging.evidence import fit
from sitelog.judging.rule import RuleContext
from sitelog.judging.site import INSTALL, Moment, Observation
from sitelog.judging.values import RULES, is_good
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Requirement

_UNDONE = frozenset({"pre", "loosed", "removed", "not-tested"})
_AS_IT_IS = frozenset({"final", "click", "swap"})
MOST_VOLTS = 50.0
"""V, of either sign; no test above it proves a circuit dead where no sheet says less (common practice: the
limit of extra-low voltage for alternating current, 50 V)."""


class Standing:
    """What stood at a moment on one site."""

    def __init__(self, case: Case) -> None:
        self._case = case
        self._contexts: dict[str, RuleContext] = {}  # by the name of the sheet

    def is_met(self, requirement: Requirement, moment: Moment) -> bool:
        """Whether a requirement was met at a moment, by what stood just then.

        The newest entry before the moment decides, under each of its conditions: one that was good and was
        loosed, put off, taken out or replaced by a bad one since then meets nothing, nor does one that a
        swap or a defect has reopened. A step and a proof of dead serve the visit in which they were done; a
        proof of dead serves until the next switching on.
        """
        case = self._case
        if case.is_excused(requirement):
            return True
        if (
            row_of(requirement.kind).judged == "serial"
            and case.nonconformity_of(requirement, moment.order) is not None
        ):
            return False
        start = case.evidence_counts_from(requirement, moment.order)
        standing = self._newest(requirement, moment, start)
        return bool(standing) and all(
            self._is_good(requirement, obs)
            and not self._reopened(requirement, obs, moment)
            and (not row_of(requirement.kind).symmetric or not self.switched_on_between(obs, moment))
            for obs in standing
        )

    def _newest(
        self, requirement: Requirement, moment: Moment, start: tuple[int, int, int]
    ) -> list[Observation]:
        """The newest entry under each condition before a moment; none where it was undone since."""
        own_visit = self._is_of_one_visit(requirement, moment.visit)
        found: dict[str, Observation] = {}
        for obs in self._case.evidence.of(self._case.names.asked(requirement)):
            if not start < obs.moment.order < moment.order:
                continue
            if own_visit and obs.moment.visit != moment.visit:
                continue
            if obs.mode in _UNDONE:
                found.clear()
            elif obs.mode in _AS_IT_IS or (obs.mode == "held" and requirement.every is not None):
                if requirement.condition is not None and fit(requirement, obs).answer == "no":
                    continue
                asked = requirement.condition.kind if requirement.condition is not None else None
                others = sorted(each.key for each in obs.conditions if each.kind != asked)
                if not others:
                    found.clear()  # a plain value replaces all
                found[", ".join(others)] = obs
        return list(found.values())

    def _is_of_one_visit(self, requirement: Requirement, visit: int) -> bool:
        """Whether what met a requirement in an earlier visit does not count in this one.

        So it is for what this visit asks anew, and for a proof of dead.
        """
        return self._case.is_asked_in(requirement, visit) or row_of(requirement.kind).symmetric

    def _is_good(self, requirement: Requirement, obs: Observation) -> bool:
        """Whether it is good as far as its value goes; a proof of dead must be beyond every doubt."""
        context = self._context(requirement)
        if not row_of(requirement.kind).symmetric:
            return is_good(requirement, obs, context)
        return worst(RULES[requirement.kind](requirement, obs, context).reasons) == "pass" and _is_low(obs)

    def _context(self, requirement: Requirement) -> RuleContext:
        context = self._contexts.get(requirement.sheet)
        if context is None:
            context = self._contexts[requirement.sheet] = self._case.rule_context(requirement)
        return context

    def _reopened(self, requirement: Requirement, obs: Observation, moment: Moment) -> bool:
        """Whether a swap or a removal had reopened it between its entry and the moment."""
        return any(
            obs.moment.order < cause.moment.order < moment.order
            and self._case.log.visits[cause.moment.visit].purpose != REMOVAL
            for reopened, causes in self._case.reopenings
            if id(requirement) in reopened
            for cause in causes
        )

    def switched_on_between(self, obs: Observation, moment: Moment) -> bool:
        """Whether a proof of dead had ended: by a new visit, a switching on, or the last lock taken off.

        Opening or closing a cover does not end it, as no voltage comes of that.
        """
        return obs.moment.visit != moment.visit or self._case.states.switched_on(
            obs.moment.order, moment.order
        )

    def is_made_safe(self, moment: Moment, switching_on: Observation) -> bool:
        """Whether a lock had been put on since a switching on, and some circuit proved dead below it.

        The log cannot say which circuit a terminal belongs to, so the proof of any one is taken.
        """
        locked = self._case.states.last("locked", "", moment.order)
        if locked is None or locked.moment.order < switching_on.moment.order:
            return False
        if not self._case.states.holds("locked", "", moment.order):
            return False
        return any(
            obs.mode == "final"
            and obs.moment.order < moment.order
            and _is_low(obs)
            and not self.switched_on_between(obs, moment)
            and self._case.is_traced(obs)
            for obs in self._dead_tests()
        )

    def _dead_tests(self) -> Iterable[Observation]:
        return (obs for obs in self._case.observations if row_of(obs.kind).symmetric and obs.value)

    def asked_before(self, requirement: Requirement, obs: Observation) -> Observation | None:
        """What stood of a reading before a visit that does not ask it and reopened nothing; else None.

        A reading taken in such a visit, for instance of a running plant to find a fault, is information: its
        number is judged, and the order is that of the one before.
        """
        case = self._case
        if row_of(requirement.kind).measures != "by name" or case.is_asked_in(requirement, obs.moment.visit):
            return None
        if case.log.visits[obs.moment.visit].purpose == INSTALL:
            return None
        start = case.evidence_counts_from(requirement, obs.moment.order)
        earlier = [
            other
            for other in case.evidence.of(case.names.asked(requirement))
            if other.live and other.moment.visit < obs.moment.visit and start < other.moment.order
        ]
        if not earlier or self._reopened(requirement, earlier[-1], obs.moment):
            return None
        return earlier[-1]


def _is_low(obs: Observation) -> bool:
    """Whether a dead test found as good as nothing, whichever way round the probes were."""
    return obs.value is not None and abs(float(obs.value.base)) <= MOST_VOLTS

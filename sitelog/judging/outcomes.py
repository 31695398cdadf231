"""What an observation is worth by itself: also one that was replaced, undone, or that no sheet asks."""

from __future__ import annotations

from sitelog.base.frozen import replace
from sitelog.base.verdicts import Reason, by_rank, worst
from sitelog.judging.case import Case
from sitelog.judging.order import Order
from sitelog.judging.reliance import NOTHING, Instrument
from sitelog.judging.results import Result
from sitelog.judging.rule import Outcome, RuleContext
from sitelog.judging.site import Observation
from sitelog.judging.tools import instrument_of
from sitelog.judging.values import RULES
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Requirement

_MODE_VERDICTS = {"pre": "pre-only", "loosed": "reopened", "not-tested": "not-tested"}
_JUDGED = frozenset({"final", "click", "held", "moved", "swap"})


def instrument_behind(case: Case, obs: Observation, requirement: Requirement | None = None) -> Instrument:
    """The instrument behind a value, also where nothing judges it; `NOTHING` where no tool is asked for."""
    is_measured = obs.value is not None and row_of(obs.kind).measures
    return instrument_of(obs, case.box, requirement) if is_measured else NOTHING


def verdict_of_mode(obs: Observation) -> str:
    """The verdict of an observation that no limit is held against: `pre-only`, `reopened` … or `no-limit`."""
    return _MODE_VERDICTS.get(obs.mode, "no-limit")


def outcome_of(case: Case, requirement: Requirement, obs: Observation) -> Outcome:
    """What the rule of its kind says of an observation, by one requirement and looked at by itself.

    No earlier value has a say in it, and neither has the order of the work.
    """
    return RULES[requirement.kind](
        requirement,
        obs,
        RuleContext(
            case.box, case.guard(requirement), case.device, trial=case.trial, day_above=case.day_above
        ),
    )


def result_of(case: Case, requirement: Requirement | None, obs: Observation) -> Result:
    """What an observation was worth that does not stand (any more), as a result of its own.

    The order of the work counts. `requirement` is None where no sheet asks it.
    """
    if requirement is None or obs.mode not in _JUDGED:
        verdict = verdict_of_mode(obs)
        reasons = (Reason("no-limit", "", "no sheet asks this"),) if verdict == "no-limit" else ()
        outcome = Outcome(reasons, instrument=instrument_behind(case, obs, requirement))
        if requirement is not None:
            outcome = replace(outcome, limits=requirement.limits)
    else:
        outcome = outcome_of(case, requirement, obs)
        outcome = replace(outcome, reasons=(*outcome.reasons, *Order(case).reasons(requirement, obs)))
        verdict = worst(outcome.reasons)
    return Result(
        obs.kind,
        obs.what,
        requirement.place if requirement is not None else obs.place,
        obs.moment.visit,
        verdict,
        by_rank(outcome.reasons, requirement.place if requirement is not None else ""),
        requirement,
        obs,
        outcome.limits,
        outcome.margin,
        outcome.probability,
        outcome.instrument,
    )

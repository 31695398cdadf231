"""What every rule of judgement takes and gives; the rules themselves are in `values`, by kind."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import Reason
from sitelog.judging.reliance import NOTHING, Instrument
from sitelog.judging.site import Observation
from sitelog.judging.tools import Toolbox
from sitelog.language.kinds.electric import Device
from sitelog.language.kinds.requirement import NO_LIMITS, Limits, Requirement
from sitelog.notation.quantities import Quantity

TYPE_CHECKING = False
if TYPE_CHECKING:  # not loaded where no log holds a trial
    from sitelog.files.trials.results import Trial, TrialFault


def _none_before(one: Requirement, obs: Observation) -> Observation | None:
    return None


def _no_day(obs: Observation) -> date | None:
    return None


def _no_trial(obs: Observation) -> Trial | TrialFault | None:
    return None


class RuleContext(NamedTuple):
    """What a rule may look at besides the requirement and the mark."""

    box: Toolbox
    guard: float
    device: Callable[[str], Device | None]
    previous: Callable[[Requirement, Observation], Observation | None] = _none_before
    trial: Callable[[Observation], Trial | TrialFault | None] = _no_trial
    day_above: Callable[[Observation], date | None] = _no_day  # of the entry above in the same visit


class Outcome(NamedTuple):
    """What a rule found: reasons, the limits in force, and the tool behind the value."""

    reasons: tuple[Reason, ...] = ()
    limits: Limits = NO_LIMITS
    margin: float | None = None
    probability: float | None = None
    instrument: Instrument = NOTHING
    computed: tuple[tuple[str, Quantity], ...] = ()


Rule = Callable[[Requirement, Observation, RuleContext], Outcome]


def about(one: Requirement) -> str:
    """What a message calls a requirement: `continuity frame/earth`, `bracket-4`."""
    return f"{one.what} {one.place}".strip()

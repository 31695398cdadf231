"""What every rule of judgement takes and gives; the rules themselves are in `values`, by kind."""

from __future__ import annotations

from collections.abc import Callable

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import Reason
from sitelog.judging.site import Mark
from sitelog.judging.tools import NOTHING, Behind, Toolbox
from sitelog.language.kinds.asked import NO_LIMITS, Asked, Limits
from sitelog.language.kinds.electric import Device
from sitelog.notation.quantities import Quantity

TYPE_CHECKING = False
if TYPE_CHECKING:  # not loaded where no log holds a trial
    from sitelog.files.trials.results import Trial, Trouble


def _none_before(one: Asked, mark: Mark) -> Mark | None:
    return None


def _no_trial(mark: Mark) -> Trial | Trouble | None:
    return None


class Around(NamedTuple):
    """What a rule may look at besides the requirement and the mark."""

    box: Toolbox
    guard: float
    device: Callable[[str], Device | None]
    previous: Callable[[Asked, Mark], Mark | None] = _none_before
    trial: Callable[[Mark], Trial | Trouble | None] = _no_trial


class Outcome(NamedTuple):
    """What a rule found: reasons, the limits in force, and the tool behind the value."""

    reasons: tuple[Reason, ...] = ()
    limits: Limits = NO_LIMITS
    margin: float | None = None
    probability: float | None = None
    behind: Behind = NOTHING
    computed: tuple[tuple[str, Quantity], ...] = ()


Rule = Callable[[Asked, Mark, Around], Outcome]


def about(one: Asked) -> str:
    """What a message calls a requirement: `continuity frame/earth`, `bracket-4`."""
    return f"{one.what} {one.place}".strip()

"""The result of judging one requirement on one visit, or one thing that no sheet asks."""

from __future__ import annotations

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import FAILING, OPEN, Reason
from sitelog.judging.reliance import NOTHING, Instrument
from sitelog.judging.site import Observation
from sitelog.language.kinds.requirement import NO_LIMITS, Limits, Requirement
from sitelog.notation.quantities import Quantity


class Result(NamedTuple):
    """One thing at one place: what a sheet asks of it, what stands now, and the verdict with every reason.

    `requirement` is None for what was done and no sheet asks; `observation` is None where nothing was done.
    `visit` is an index into the visits of the site. `margin` is the distance to the nearer limit as a share
    of the tolerance, negative outside; `probability`, from 0 to 1, that of lying within the limits. Each is
    None where it cannot be told.
    """

    kind: str
    what: str
    place: str
    visit: int
    verdict: str
    reasons: tuple[Reason, ...]
    requirement: Requirement | None = None
    observation: Observation | None = None
    limits: Limits = NO_LIMITS
    margin: float | None = None
    probability: float | None = None
    instrument: Instrument = NOTHING
    previous: Observation | None = None
    reworks: int = 0
    value: Quantity | None = None  # where it is computed: a spread, a cable's drop
    near: Observation | None = None  # where it is missing: what was measured, and does not count

    @property
    def failing(self) -> bool:
        """Whether the work is wrong, rather than undone or unproven."""
        return self.verdict in FAILING

    @property
    def open(self) -> bool:
        """Whether something is still to be done about it."""
        return self.verdict in OPEN

    @property
    def beside(self) -> str:
        """What stands beside the verdict of a value: the limit's source, the tool, its certificate …"""
        parts: list[str] = []
        if self.requirement is not None and self.limits.kind:
            source = f", {self.requirement.source}" if self.requirement.source else ""
            parts.append(f"{self.limits.text or 'limit'}{source}")
        if self.instrument.name:
            parts.append(
                self.instrument.name
                + (f", certificate {self.instrument.cert}" if self.instrument.cert else "")
            )
        if self.probability is not None:
            percent = self.probability * 100
            shown = f"{percent:.3g} %"
            if not 0.1 <= percent <= 99.9:
                shown = "under 0.1 %" if percent < 0.1 else "over 99.9 %"
            parts.append(f"probability {shown}")
        return "; ".join(parts)

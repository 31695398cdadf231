"""What the judge hands on."""

from __future__ import annotations

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import FAILING, OPEN, Reason
from sitelog.judging.site import Mark
from sitelog.judging.tools import NOTHING, Behind
from sitelog.language.kinds.asked import NO_LIMITS, Asked, Limits
from sitelog.notation.quantities import Quantity


class Result(NamedTuple):
    """One thing at one place: what a sheet asks of it, what stands now, and the verdict with every reason.

    `asked` is None for what was done and no sheet asks; `mark` is None where nothing was done.
    """

    kind: str
    what: str
    place: str
    visit: int
    verdict: str
    reasons: tuple[Reason, ...]
    asked: Asked | None = None
    mark: Mark | None = None
    limits: Limits = NO_LIMITS
    margin: float | None = None
    probability: float | None = None
    behind: Behind = NOTHING
    previous: Mark | None = None
    reworks: int = 0
    value: Quantity | None = None  # where it is computed: a spread, a cable's drop
    near: Mark | None = None  # where it is missing: what was measured, and does not count

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
        if self.asked is not None and self.limits.kind:
            source = f", {self.asked.source}" if self.asked.source else ""
            parts.append(f"{self.limits.text or 'limit'}{source}")
        if self.behind.name:
            parts.append(self.behind.name + (f", certificate {self.behind.cert}" if self.behind.cert else ""))
        if self.probability is not None:
            percent = self.probability * 100
            shown = f"{percent:.3g} %"
            if not 0.1 <= percent <= 99.9:
                shown = "under 0.1 %" if percent < 0.1 else "over 99.9 %"
            parts.append(f"probability {shown}")
        return "; ".join(parts)

"""The first of two readings of a file: its usual step, its largest current, and which sign charges."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date

GAP_TIMES = 1.5
"""A step longer than this many times the file's long step is a gap: one row left out already is one (team
assumption)."""

BRIDGED = 1.05
"""A step longer than this many times the long step is counted as bridged (team assumption)."""

LONG_STEP = 0.9
"""The long step: of all steps this share is not longer. A logger that writes seldom at rest and often under
load has many short steps, so the median would call its every rest a gap (team assumption)."""

REST = 0.001
"""Current below this share of the largest is rest: 0.01 A of offset beside 30 A (team assumption)."""

_CERTAIN = 0.05  # share of the evidence that must point one way
_TOLD_APART = 1e-6  # below this two causes that go together cannot be told apart
_BINS = 200  # per factor of e: steps are told apart to half a per cent

WORDS_OUT = ("d", "dis", "dch", "dchg", "dchrg")
WORDS_IN = ("c", "ch", "chg", "chrg", "cc", "cv", "cccv")


def mode_of(text: str) -> str:
    """What a word in a mode column says: `out`, `in`, or empty for rest and anything else."""
    word = text.strip().casefold()
    if word in WORDS_OUT or word.startswith(("discharg", "disch", "cc_dchg", "cc dchg")):
        return "out"
    return "in" if word in WORDS_IN or word.startswith("charg") else ""


@dataclass(slots=True)
class VoltageFit:
    """Least squares of a battery's voltage: rise = resistance * change of current + slope * charge moved.

    Both are positive where positive current charges: current into a battery lifts its voltage, at once by
    its resistance and slowly by its charge.
    """

    xx: float = 0.0
    yy: float = 0.0
    xy: float = 0.0
    xv: float = 0.0
    yv: float = 0.0

    def add(self, change: float, moved: float, rise: float) -> None:
        """One step: change of current in A, charge moved in As, rise of voltage in V."""
        self.xx += change * change
        self.yy += moved * moved
        self.xy += change * moved
        self.xv += change * rise
        self.yv += moved * rise

    def evidence(self) -> int:
        """1 where positive current charges, -1 where it discharges, 0 where the voltage does not tell."""
        spread = self.xx * self.yy - self.xy * self.xy
        if spread > _TOLD_APART * self.xx * self.yy:
            resistance = (self.xv * self.yy - self.yv * self.xy) / spread
            slope = (self.yv * self.xx - self.xv * self.xy) / spread
        else:  # both at once, or only one of them: what they say together
            resistance, slope = (
                (self.xv / self.xx if self.xx else 0.0),
                (self.yv / self.yy if self.yy else 0.0),
            )
        parts = (math.copysign(resistance**2 * self.xx, resistance), math.copysign(slope**2 * self.yy, slope))
        if spread <= _TOLD_APART * self.xx * self.yy and parts[0] * parts[1] < 0:
            return 0
        weight = abs(parts[0]) + abs(parts[1])
        total = sum(parts)
        return 0 if abs(total) <= _CERTAIN * weight else 1 if total > 0 else -1


@dataclass(slots=True)
class FirstPass:
    """What the first reading finds out. Steps are kept as a histogram, so the file's size does not matter.

    `days` are the first and the last day of its times, where they carry dates.

    `rows` counts those with values, `most` is the largest current in A (power in W where there is none),
    `largest_soc` a share of 1 as read, `assumed` what units the header leaves unsaid.
    """

    rows: int = 0
    most: float = 0.0
    largest_soc: float = 0.0
    days: tuple[date, date] | None = None
    assumed: tuple[str, ...] = ()
    _steps: dict[int, int] = field(default_factory=dict)
    _count: int = 0
    _last: tuple[float, float | None, float | None] | None = None
    _fit: VoltageFit = field(default_factory=VoltageFit)
    _flow: dict[str, float] = field(default_factory=dict)  # by mode and sign, and by sign alone

    def begin_again(self) -> None:
        """The next row follows none."""
        self._last = None

    def add(self, time: float, flow: float | None, voltage: float | None, mode: str) -> None:
        """One row; `flow` is the current, or the power where there is none."""
        self.rows += 1
        last, self._last = self._last, (time, flow, voltage)
        if flow is not None:
            self.most = max(self.most, abs(flow))
            key = f"{mode}{'+' if flow > 0 else '-'}"
            self._flow[key] = self._flow.get(key, 0.0) + abs(flow)
        if last is None:
            return
        step = time - last[0]
        if step > 0:
            bin = round(math.log(step) * _BINS)
            self._steps[bin] = self._steps.get(bin, 0) + 1
            self._count += 1
        if flow is not None and voltage is not None and last[1] is not None and last[2] is not None:
            self._fit.add(flow - last[1], (flow + last[1]) / 2 * max(step, 0.0), voltage - last[2])

    @property
    def step(self) -> float:
        """The long step in s; 0 where there is none."""
        wanted, seen = math.floor(LONG_STEP * (self._count - 1)), 0
        for bin in sorted(self._steps):
            seen += self._steps[bin]
            if seen > wanted:
                return math.exp(bin / _BINS)
        return 0.0

    def sign(self, trial: str) -> tuple[int, str]:
        """1 where positive current charges, -1 where it discharges, 2 where only the mode tells, else 0.

        With the reason in words. `trial` is what the log calls the trial.
        """
        flow = self._flow
        out_plus, out_minus = flow.get("out+", 0.0), flow.get("out-", 0.0)
        in_plus, in_minus = flow.get("in+", 0.0), flow.get("in-", 0.0)
        if out_plus + out_minus + in_plus + in_minus > 0.5 * sum(flow.values()):
            if out_plus > 10 * out_minus and in_plus > 10 * in_minus and out_plus and in_plus:
                return 2, "the file's own words say which rows charge"
            charges = out_minus + in_plus > out_plus + in_minus
            return (1 if charges else -1), _said(charges, "as the file's own words say")
        if evidence := self._fit.evidence():
            charges = evidence > 0
            return (1 if charges else -1), _said(charges, "as the voltage follows it")
        plus = sum(amount for key, amount in flow.items() if key.endswith("+"))
        minus = sum(amount for key, amount in flow.items() if key.endswith("-"))
        word = mode_of(trial)
        if word and min(plus, minus) <= 0.01 * max(plus, minus):
            charges = (word == "in") == (plus >= minus)
            return (1 if charges else -1), _said(charges, "since the log calls the trial so")
        return 0, "nothing tells which sign of the current charges"


def _said(charges: bool, why: str) -> str:
    return f"positive {'charges' if charges else 'discharges'}, {why}"

"""Files that hold only counters, as energy meters do: what they counted, resets left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sitelog.files.trials.columns import LoggerColumn
from sitelog.files.trials.results import DataFault
from sitelog.files.trials.sums import Flow
from sitelog.files.trials.survey import mode_of

_DIRECTED = ("energy-out", "energy-in", "charge-out", "charge-in")
_NEAR_ZERO = 0.01  # a counter that began again stands below this share of what it stood at
_JUMP = 0.5  # a single rise of this share of a fall is a jump back
_FEW_ROWS = 10  # of fewer rows one may hold most of what was counted
_STILL = 0.25  # a counter of one way that stands still for this share of the run leaves a charge open


@dataclass(slots=True)
class _Counter:
    """One counter, row by row.

    A reset is a drop to near zero (1 % of the value before, or one step at most) behind which the counter
    stays low and grows on. Anything else that is no rise is a fault of the data, and nothing is summed
    across it.
    """

    column: str
    sum: float = 0.0
    resets: list[int] = field(default_factory=list)
    faults: list[DataFault] = field(default_factory=list)
    last: float | None = None
    last_line: int = 0
    blank_from: int = 0
    largest: float = 0.0  # the largest rise since it began, what it stood at before, and in which line
    before_largest: float = 0.0
    largest_line: int = 0
    fallen: tuple[float, float, int] | None = None  # from, to, in which line
    grown: bool = True  # it rose since it fell
    falls: list[int] = field(default_factory=list)

    def add(self, line: int, value: float | None) -> float:
        """What the counter rose in this row."""
        if value is None:
            self.blank_from = self.blank_from or line
            return 0.0
        if self.blank_from:
            self._fault(self.blank_from, line - 1, "is empty")
            self.blank_from, self.last = 0, None
        last, self.last = self.last, value
        before_line, self.last_line = self.last_line, line
        if last is None:
            return 0.0
        rise = value - last
        if rise < 0:
            return self._fall(last, value, line, before_line)
        if not rise:
            return 0.0
        if self.fallen is not None:
            start, stop, fell = self.fallen
            if rise >= _JUMP * (start - stop):
                if self.resets and self.resets[-1] == fell:
                    self.resets.pop()
                self._fault(fell, before_line, f"falls from {start:.6g} to {stop:.6g} and jumps back")
                self.fallen = None
                return 0.0
            self.grown = True
        if rise > self.largest:
            self.largest, self.before_largest, self.largest_line = rise, last, line
        self.sum += rise
        return rise

    def cut(self) -> None:
        """Nothing is counted across a gap."""
        self.last = None

    def _fall(self, last: float, value: float, line: int, before_line: int) -> float:
        self.falls.append(line)
        spiked = self.largest >= _JUMP * (last - value) and value >= self.before_largest
        near = value <= max(_NEAR_ZERO * last, self.largest)
        self.fallen, self.grown = (last, value, line), False
        if spiked and self.largest_line:
            self._fault(self.largest_line, before_line, f"jumps to {last:.6g} and back to {value:.6g}")
            self.sum -= self.largest
            self.fallen, self.grown = None, True
        elif near and value >= 0:
            self.resets.append(line)
        else:
            self._fault(line, line, f"falls from {last:.6g} to {value:.6g}, which is no beginning again")
        self.largest = self.before_largest = 0.0
        self.largest_line = 0
        return 0.0

    def finish(self, rows: int) -> None:
        """The file ends: a counter that fell and did not grow on began nothing."""
        if self.blank_from:
            self._fault(self.blank_from, self.blank_from, "is empty from here on")
        if self.fallen is not None and not self.grown and self.fallen[2] in self.resets:
            start, stop, line = self.fallen
            self.resets.remove(line)
            self._fault(line, self.last_line, f"falls from {start:.6g} to {stop:.6g} and counts no further")
        if rows >= _FEW_ROWS and self.largest > _JUMP * self.sum:
            line = self.largest_line
            self._fault(line, line, "counts most of its whole rise in this one row")

    def _fault(self, first: int, last: int, what: str) -> None:
        self.faults.append(DataFault(first, max(first, last), f"the counter `{self.column}` {what}"))


class EnergyCounters:
    """Adds up what each counter rose, in Wh and Ah; `_Counter` says what a reset is and what a fault.

    A counter that does not say which way it counts counts what the log calls the trial.
    """

    def __init__(self, roles: Mapping[str, LoggerColumn], what: str) -> None:
        way = mode_of(what) or "out"
        self._of = {role: role if role in _DIRECTED else f"{role}-{way}" for role in roles
                    if role in (*_DIRECTED, "energy", "charge")}  # fmt: skip
        for role in ("energy", "charge"):
            if role in self._of and self._of[role] in roles:
                del self._of[role]  # the counter with a direction says it better
        self._counters = {role: _Counter(roles[role].name) for role in self._of}
        self._rows = 0
        self._began: float | None = None
        self._rose: tuple[float, int] | None = None  # when a counter rose last, in which line
        self._still = (0.0, 0, 0)  # the longest time without a rise between two, from which line to which

    def add(self, line: int, time: float, values: Mapping[str, float | None]) -> Flow:
        """One row: what the counters rose since the row before."""
        self._rows += 1
        rises = {name: self._counters[role].add(line, values.get(role)) for role, name in self._of.items()}
        if any(rises.values()):
            if self._rose is not None and time - self._rose[0] > self._still[0]:
                self._still = (time - self._rose[0], self._rose[1], line)
            self._began = time if self._began is None else self._began
            self._rose = (time, line)
        return Flow(
            rises.get("charge-in", 0.0),
            rises.get("charge-out", 0.0),
            rises.get("energy-in", 0.0),
            rises.get("energy-out", 0.0),
        )

    def cut(self) -> None:
        """Nothing is counted across a gap."""
        for counter in self._counters.values():
            counter.cut()

    def finish(self) -> None:
        """The file ends."""
        for counter in self._counters.values():
            counter.finish(self._rows)

    @property
    def columns(self) -> tuple[str, ...]:
        """The names of the counters in use."""
        return tuple(counter.column for counter in self._counters.values())

    @property
    def falls(self) -> list[int]:
        """The lines in which a counter fell, whatever the cause."""
        return sorted({line for counter in self._counters.values() for line in counter.falls})

    @property
    def resets(self) -> list[int]:
        """The lines in which a counter began again."""
        return sorted({line for counter in self._counters.values() for line in counter.resets})

    @property
    def faults(self) -> list[DataFault]:
        """Where a counter cannot be right, by line."""
        found = sorted({fault for counter in self._counters.values() for fault in counter.faults})
        ways = {name.partition("-")[2] for name in self._of.values()}
        seconds, first, last = self._still
        if len(ways) > 1 or self._rose is None or self._began is None:
            return found
        if seconds > _STILL * (self._rose[0] - self._began) and last - first > 1:
            message = "no counter rises; whether it went the other way meanwhile is not in the file"
            found.append(DataFault(first, last, message))
        return found

    def counts(self, what: str) -> bool:
        """Whether there is a counter of `energy` or of `charge`."""
        return any(name.startswith(what) for name in self._of.values())

    def total(self, name: str) -> float | None:
        """What a counter counted; None where there is none."""
        sums = [self._counters[role].sum for role, to in self._of.items() if to == name]
        return sums[0] if sums else None

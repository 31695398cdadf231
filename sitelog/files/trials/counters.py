"""Files that hold only counters, as energy meters do: what they counted, resets left out."""

from __future__ import annotations

from collections.abc import Mapping

from sitelog.files.trials.columns import LoggerColumn
from sitelog.files.trials.results import HalfCycle
from sitelog.files.trials.survey import mode_of

_DIRECTED = ("energy-out", "energy-in", "charge-out", "charge-in")


class EnergyCounters:
    """Adds up what each counter rose; a counter that falls began again, and that step counts nothing.

    A counter that does not say which way it counts counts what the log calls the trial. Energies in
    Wh, charges in Ah.
    """

    def __init__(self, roles: Mapping[str, LoggerColumn], what: str) -> None:
        way = mode_of(what) or "out"
        self._of = {role: role if role in _DIRECTED else f"{role}-{way}" for role in roles
                    if role in (*_DIRECTED, "energy", "charge")}  # fmt: skip
        for role in ("energy", "charge"):
            if role in self._of and self._of[role] in roles:
                del self._of[role]  # the counter with a direction says it better
        self._last: dict[str, float] = {}
        self._sums: dict[str, float] = {}
        self._first: tuple[int, float, float | None] | None = None
        self._end: tuple[int, float, float | None] = (0, 0.0, None)

    def add(self, line: int, time: float, values: Mapping[str, float | None], soc: float | None) -> bool:
        """One row; True where a counter began again."""
        reset = False
        self._first = self._first or (line, time, soc)
        self._end = (line, time, soc)
        for role, name in self._of.items():
            value = values.get(role)
            if value is None:
                continue
            last = self._last.get(role)
            self._last[role] = value
            rise = value - last if last is not None else 0.0
            if rise < 0:
                reset = True
            self._sums[name] = self._sums.get(name, 0.0) + max(rise, 0.0)
        return reset

    def total(self, name: str) -> float | None:
        """What a counter counted; None where there is none."""
        return self._sums.get(name)

    def runs(self) -> list[HalfCycle]:
        """All that was counted out, and all that was counted in, each as one run."""
        if self._first is None:
            return []
        start, end = self._first, self._end
        found: list[HalfCycle] = []
        for way in ("out", "in"):
            charge, energy = self.total(f"charge-{way}"), self.total(f"energy-{way}")
            if charge or energy:
                found.append(
                    HalfCycle(
                        direction=way,
                        first_line=start[0],
                        last_line=end[0],
                        seconds=end[1] - start[1],
                        charge=charge,
                        energy=energy,
                        half_charge=0.0,
                        half_energy=0.0,
                        start_voltage=None,
                        end_voltage=None,
                        start_soc=start[2],
                        end_soc=end[2],
                    )
                )
        return found

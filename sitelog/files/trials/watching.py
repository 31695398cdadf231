"""The protocol of what watches a file being added up, sample by sample."""

from __future__ import annotations

from typing import NamedTuple, Protocol


class RunningSample(NamedTuple):
    """One row as it counts, with all that flowed out and in until then; charging is positive.

    Time in s, current in A, power in W, voltage in V, state of charge a share of 1, temperature in °C,
    charges in Ah, energies in Wh; None for what the file has no column for.
    """

    time: float
    current: float | None
    power: float | None
    voltage: float | None
    soc: float | None
    temperature: float | None
    charge_out: float | None
    charge_in: float | None
    energy_out: float | None
    energy_in: float | None


class Watcher(Protocol):
    """Who is told of each row while a file is added up."""

    def begin(self, rows: int) -> None:
        """So many rows will come."""

    def add(self, sample: RunningSample) -> None:
        """One row."""

    def cut(self) -> None:
        """The record is broken before the next row."""

"""Protective devices: the current at which they surely trip."""

from __future__ import annotations

TRIP_MULTIPLES = {"B": 5, "C": 10, "D": 20}
"""Upper end of instantaneous tripping as a multiple of the rating (IEC 60898-1, table 7)."""


def trip_multiple(curve: str) -> int | None:
    """How many times its rating makes a circuit breaker of that curve trip at once; None for other curves."""
    return TRIP_MULTIPLES.get(curve)

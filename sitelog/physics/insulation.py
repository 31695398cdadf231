"""Insulation at other temperatures: what makes readings of cold and of warm days comparable."""

from __future__ import annotations

from math import exp2

REFERENCE = 20.0
"""°C, to which insulation resistance is brought (common practice, no source)."""
HALVING = 10.0
"""K, over which insulation resistance falls to half (common practice, no source: a rule of thumb whose
true figure depends on the material and on its moisture)."""


def factor_to_reference(temperature: float) -> float:
    """What a resistance read at `temperature` °C is multiplied by to bring it to 20 °C: 2^((t - 20) / 10).

    Common practice, no source: see `HALVING`.
    """
    return exp2((temperature - REFERENCE) / HALVING)

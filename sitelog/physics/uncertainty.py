"""Measurement uncertainty and the probability that a value conforms."""

from __future__ import annotations

from math import erf, sqrt


def standard_uncertainty(limit: float, expanded: float, step: float = 0.0) -> float:
    """The standard uncertainty u = √(limit² / 3 + expanded² / 4 + step² / 12), in the unit of its arguments.

    `limit` is the tool's largest permissible error, taken as a rectangular distribution; `expanded`
    the calibration's expanded uncertainty at k = 2; `step` the last digit of the display, of which half is
    the half-width of a rectangular distribution.
    Source: JCGM 100:2008, 4.3.7 and 4.4.5 (rectangular), 4.3.3 (k from a certificate) and F.2.2.1 (step).
    """
    return sqrt(limit * limit / 3 + expanded * expanded / 4 + step * step / 12)


def normal(z: float) -> float:
    """The standard normal distribution function Φ(z) = (1 + erf(z / √2)) / 2: the probability up to `z`."""
    return 0.5 * (1 + erf(z / sqrt(2)))


def conformance(value: float, u: float, low: float | None, high: float | None) -> float:
    """The probability that the true value lies within the limits, an absent limit being infinite.

    p = Φ((high - value) / u) - Φ((low - value) / u), all in one unit. Without uncertainty it is 1 inside the
    limits (on them is inside) and 0 outside.
    Source: JCGM 106:2012, 7.2.2 to 7.4, with a normal distribution around the value.
    """
    if u <= 0:
        return float((low is None or value >= low) and (high is None or value <= high))
    above = 1.0 if high is None else normal((high - value) / u)
    below = 0.0 if low is None else normal((low - value) / u)
    return above - below


def margin(value: float, low: float | None, high: float | None) -> float | None:
    """The distance to the nearer limit as a share of the tolerance; negative outside.

    The tolerance is the upper less the lower limit (JCGM 106:2012, 3.3.6); with one limit only, the
    share is of that limit. None where there is nothing to divide by.
    """
    if low is not None and high is not None:
        width = high - low
        return min(value - low, high - value) / width if width else None
    limit = low if low is not None else high
    if not limit:
        return None
    return (value - limit if low is not None else limit - value) / abs(limit)

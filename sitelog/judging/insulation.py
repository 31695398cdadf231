"""Insulation over the visits: readings of cold and of warm days brought to one temperature."""

from __future__ import annotations

from decimal import Decimal

from sitelog.judging.evidence import Evidence
from sitelog.judging.site import Observation
from sitelog.language.kinds.kind import row_of
from sitelog.notation.quantities import Quantity
from sitelog.physics.insulation import factor_to_reference


def corrected(obs: Observation | None) -> Quantity | None:
    """An insulation reading brought to 20 °C; None where the log does not say at what temperature it was."""
    if obs is None or row_of(obs.kind).measures != "by name" or obs.what.casefold() != "insulation":
        return None
    degrees = [
        condition.base
        for condition in obs.conditions
        if condition.kind == "temperature" and condition.base is not None
    ]
    if len(degrees) != 1 or obs.value is None or obs.value.kind != "resistance":
        return None
    factor = Decimal(f"{factor_to_reference(float(degrees[0])):.6g}")
    number = Decimal(f"{obs.value.number * factor:.3g}")
    plain = Decimal(f"{number:f}")  # 120, not 1.2E+2
    text = f"{obs.value.bound}{plain} {obs.value.unit}"
    return obs.value._replace(number=plain, base=obs.value.base * factor, text=text)


def before_at_any_temperature(evidence: Evidence, obs: Observation | None) -> Observation | None:
    """The last insulation reading above at the same test voltage that `corrected` brings to 20 °C too."""
    if obs is None or corrected(obs) is None:
        return None
    for other in reversed(evidence.of(evidence.key(obs))):
        is_above = other.live and other.moment.order < obs.moment.order
        if is_above and _but_warm(other) == _but_warm(obs) and corrected(other) is not None:
            return other
    return None


def _but_warm(obs: Observation) -> set[str]:
    """The conditions of an observation other than its temperature."""
    return {condition.key for condition in obs.conditions if condition.kind != "temperature"}

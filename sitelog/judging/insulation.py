"""Insulation over the visits: readings of cold and of warm days brought to one temperature."""

from __future__ import annotations

from decimal import Decimal

from sitelog.judging.evidence import Evidence
from sitelog.judging.site import Mark
from sitelog.notation.quantities import Quantity
from sitelog.physics.insulation import factor_to_reference


def corrected(mark: Mark | None) -> Quantity | None:
    """An insulation reading brought to 20 °C; None where the log does not say at what temperature it was."""
    if mark is None or mark.kind != "reading" or mark.what.casefold() != "insulation":
        return None
    degrees = [one.base for one in mark.conditions if one.kind == "temperature" and one.base is not None]
    if len(degrees) != 1 or mark.value is None or mark.value.kind != "resistance":
        return None
    factor = Decimal(f"{factor_to_reference(float(degrees[0])):.6g}")
    number = Decimal(f"{mark.value.number * factor:.3g}")
    plain = Decimal(f"{number:f}")  # 120, not 1.2E+2
    text = f"{mark.value.bound}{plain} {mark.value.unit}"
    return mark.value._replace(number=plain, base=mark.value.base * factor, text=text)


def before_at_any_temperature(evidence: Evidence, mark: Mark | None) -> Mark | None:
    """The last insulation reading above at the same test voltage that `corrected` brings to 20 °C too."""
    if mark is None or corrected(mark) is None:
        return None
    for other in reversed(evidence.of(evidence.key(mark))):
        is_above = other.live and other.moment.order < mark.moment.order
        if is_above and _but_warm(other) == _but_warm(mark) and corrected(other) is not None:
            return other
    return None


def _but_warm(mark: Mark) -> set[str]:
    """The conditions of a mark other than its temperature."""
    return {one.key for one in mark.conditions if one.kind != "temperature"}

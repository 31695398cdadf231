"""Resistance of conductors and the voltage they drop."""

from __future__ import annotations

from math import sqrt

# Largest resistance of plain copper conductors at 20 °C in ohm/km, by size in mm².
# Source: IEC 60228:2004, table 2 (class 2, stranded) and table 3 (class 5, flexible).
CLASS_2 = {
    1.5: 12.1, 2.5: 7.41, 4: 4.61, 6: 3.08, 10: 1.83, 16: 1.15, 25: 0.727, 35: 0.524, 50: 0.387, 70: 0.268,
    95: 0.193, 120: 0.153,
}  # fmt: skip
CLASS_5 = {
    1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.3, 10: 1.91, 16: 1.21, 25: 0.78, 35: 0.554, 50: 0.386, 70: 0.272,
    95: 0.206, 120: 0.161,
}  # fmt: skip

RESISTIVITY_20 = {"copper": 1 / 58, "aluminium": 1 / 35.38}
"""ohm·mm²/m at 20 °C. Copper: IEC 60028 (58 MS/m). Aluminium: 0.028264, IEC 60889."""
TEMPERATURE_COEFFICIENT = {"copper": 0.00393, "aluminium": 0.00403}
"""1/K at 20 °C. Copper: IEC 60028. Aluminium: IEC 60889 (from memory)."""
ASSUMED_TEMPERATURE = 70.0
"""°C, of a loaded conductor where none is stated: the limit of PVC insulation (IEC 60364-5-52, table 52.1)."""


def resistance_per_metre(area: float, metal: str = "copper", strands: str = "", temperature: float = 20.0) -> float:
    """The resistance in ohm/m of `area` mm² at `temperature` °C.

    Copper of a size in IEC 60228 has that table's largest resistance (class 5 where `strands` is 5,
    else class 2); any other size its resistivity over its area.
    """
    table = CLASS_5 if strands == "5" else CLASS_2
    if metal == "copper" and (listed := table.get(area)):
        at_20 = listed / 1000
    else:
        at_20 = RESISTIVITY_20[metal] / area
    return at_20 * (1 + TEMPERATURE_COEFFICIENT[metal] * (temperature - 20))


def voltage_drop(ohm_per_metre: float, length: float, current: float, system: str) -> float:
    """The drop in V along `length` metres (one way) at `current` A; line to line for three phases.

    Source: IEC 60364-5-52:2009, annex G, without the reactive term (cos phi 1): b is 2 for one phase
    and d.c.; for three phases b is 1 to neutral, which is sqrt(3) between lines.
    """
    factor = sqrt(3) if system == "3ph" else 2.0
    return factor * ohm_per_metre * length * current

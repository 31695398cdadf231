"""Conductors: their resistance, the voltage they drop, the power they lose, the fault they stand.

The tables of IEC, BS and NEC were seen in transcriptions only; tests hold them against the formulas.
"""

from __future__ import annotations

from math import floor, log, sqrt

from sitelog.base.frozen import NamedTuple

# Largest resistance of plain conductors at 20 °C in ohm/km, by size in mm².
# Source: IEC 60228:2004, tables 1 (class 1, solid), 2 (class 2, stranded) and 3 (class 5, flexible).
_COPPER_CLASS_1 = {
    0.5: 36.0, 0.75: 24.5, 1: 18.1, 1.5: 12.1, 2.5: 7.41, 4: 4.61, 6: 3.08, 10: 1.83, 16: 1.15,
}  # fmt: skip
_COPPER_CLASS_2 = _COPPER_CLASS_1 | {
    25: 0.727, 35: 0.524, 50: 0.387, 70: 0.268, 95: 0.193, 120: 0.153, 150: 0.124, 185: 0.0991, 240: 0.0754,
    300: 0.0601,
}  # fmt: skip
# At 50 mm² the flexible conductor is the better one: so printed, and no misprint.
_COPPER_CLASS_5 = {
    0.5: 39.0, 0.75: 26.0, 1: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.3, 10: 1.91, 16: 1.21, 25: 0.78,
    35: 0.554, 50: 0.386, 70: 0.272, 95: 0.206, 120: 0.161, 150: 0.129, 185: 0.106, 240: 0.0801, 300: 0.0641,
}  # fmt: skip
_ALUMINIUM: dict[float, float] = {
    10: 3.08, 16: 1.91, 25: 1.20, 35: 0.868, 50: 0.641, 70: 0.443, 95: 0.320, 120: 0.253, 150: 0.206,
    185: 0.164, 240: 0.125, 300: 0.100,
}  # fmt: skip
IEC_60228: dict[tuple[str, str], dict[float, float]] = {
    ("copper", "1"): _COPPER_CLASS_1,
    ("copper", "2"): _COPPER_CLASS_2,
    ("copper", "5"): _COPPER_CLASS_5,
    ("aluminium", "1"): _ALUMINIUM,
    ("aluminium", "2"): _ALUMINIUM,
}

# Direct-current resistance of uncoated copper at 75 °C in ohm per 1000 ft, by gauge (0 is 1/0, -3 is 4/0):
# solid from 14 to 8 AWG, stranded for the others. Source: NEC chapter 9, table 8.
NEC_TABLE_8_SOLID = {14: 3.07, 12: 1.93, 10: 1.21, 8: 0.764}
NEC_TABLE_8_STRANDED = {
    16: 4.99, 6: 0.491, 4: 0.308, 3: 0.245, 2: 0.194, 1: 0.154, 0: 0.122, -1: 0.0967, -2: 0.0766, -3: 0.0608,
}  # fmt: skip

RESISTIVITY_20 = {"copper": 1 / 58, "aluminium": 0.028264}
"""ohm·mm²/m at 20 °C. Copper: 58 MS/m (NBS Handbook 100, 1966; IEC 60028, 1925). Aluminium: IEC 60889 (from
memory)."""
OHM_CMIL_PER_FOOT_20 = {"copper": 10.371, "aluminium": 17.002}
"""The same in ohm·circular mil/ft: NBS Handbook 100 (from memory); aluminium conducts 61 % of that."""
STRANDED = 1.02
"""A stranded conductor is 2 % longer than the cable: the lay, as in NEC chapter 9, table 8."""
COEFFICIENT_20 = {"copper": 0.00393, "aluminium": 0.00403}
"""1/K at 20 °C. Copper: IEC 60028. Aluminium: IEC 60889. Both attributions from memory."""
COEFFICIENT_75 = {"copper": 0.00323, "aluminium": 0.00330}
"""1/K at 75 °C, which goes with the table above: NEC chapter 9, table 8, note 2."""
ASSUMED_TEMPERATURE = 70.0
"""°C, of a loaded conductor where none is stated: what PVC bears (IEC 60364-5-52, table 52.1)."""
REACTANCE = 0.08e-3
"""ohm/m of conductor where nothing better is known (IEC 60364-5-52:2009, annex G; from memory)."""
_METRES_PER_KFT = 304.8
_MM2_PER_CMIL = 5.067074790974977e-4  # pi/4 · (0.0254 mm)²


class PerMetre(NamedTuple):
    """The resistance in ohm/m of one conductor, and where the figure comes from."""

    ohm: float
    basis: str


def metric(area: float, metal: str = "copper", strands: str = "2", temperature: float = 20.0) -> PerMetre:
    """The resistance of a conductor of `area` mm² and class `strands` (1, 2, 5) at `temperature` °C.

    The largest that IEC 60228 allows for that size and class; for a size it does not have, the
    resistivity over the area with the lay of strands. R(t) = R20 (1 + α20 (t - 20)). `metal` is copper or
    aluminium; KeyError for another.
    """
    factor = 1 + COEFFICIENT_20[metal] * (temperature - 20)
    corrected = f"{COEFFICIENT_20[metal]}/K from 20 degC"
    listed = IEC_60228.get((metal, strands), {}).get(area)
    if listed is not None:
        return PerMetre(listed / 1000 * factor, f"IEC 60228, class {strands}, {corrected}")
    lay = 1.0 if strands == "1" else STRANDED
    name = "IEC 60028" if metal == "copper" else "IEC 60889"
    ohm = RESISTIVITY_20[metal] / area * lay * factor
    return PerMetre(ohm, f"resistivity of {name} over the size, {corrected}")


def gauge(
    number: int, cmil: float, metal: str = "copper", strands: str = "", temperature: float = 75.0
) -> PerMetre:
    """The resistance of gauge `number` (0 is 1/0), of `cmil` circular mils at `temperature` °C.

    As in NEC chapter 9, table 8: 14 to 8 AWG solid, the others stranded, unless `strands` says 1
    (solid) or another class (stranded). Rows that are not tabled here come from the mil-foot
    resistivity, as table 8 does. Corrected with the coefficient at 75 °C.
    """
    solid = strands == "1" if strands else number in NEC_TABLE_8_SOLID
    tables = NEC_TABLE_8_SOLID if solid else NEC_TABLE_8_STRANDED
    listed = tables.get(number) if metal == "copper" else None
    if listed is None:
        return circular_mils(cmil, metal, solid, temperature)
    factor = 1 + COEFFICIENT_75[metal] * (temperature - 75)
    form = "solid" if solid else "stranded"
    basis = f"NEC chapter 9, table 8, {form}, {COEFFICIENT_75[metal]}/K from 75 degC"
    return PerMetre(listed / _METRES_PER_KFT * factor, basis)


def circular_mils(
    cmil: float, metal: str = "copper", solid: bool = False, temperature: float = 75.0
) -> PerMetre:
    """The resistance of a conductor of `cmil` circular mils at `temperature` °C, from the mil-foot figure."""
    lay = 1.0 if solid else STRANDED
    at_75 = OHM_CMIL_PER_FOOT_20[metal] * 1000 / cmil * (1 + COEFFICIENT_20[metal] * 55) * lay
    factor = 1 + COEFFICIENT_75[metal] * (temperature - 75)
    form = "solid" if solid else "stranded"
    basis = f"{OHM_CMIL_PER_FOOT_20[metal]} ohm cmil/ft, {form}, {COEFFICIENT_75[metal]}/K from 75 degC"
    return PerMetre(at_75 / _METRES_PER_KFT * factor, basis)


def cmil_of(area: float) -> float:
    """The circular mils of `area` mm²: a mil is 25.4 µm, and a circular mil a circle one mil wide."""
    return area / _MM2_PER_CMIL


# ---- voltage and power lost --------------------------------------------------------------------------
def voltage_drop(ohm: float, length: float, current: float, system: str, cos_phi: float = 1.0) -> float:
    """The drop in V along `length` m (one way) of `ohm` ohm/m at `current` A; line to line for three phases.

    u = b (R cos φ + X sin φ) L I, with b 2 for `dc` and `1ph`; for `3ph` b is 1 to neutral, which is √3
    between lines. X is `REACTANCE`; a direct current has no reactive part. Only the resistive part
    has the size in it. Source: IEC 60364-5-52:2009, annex G.
    """
    if system == "dc":
        cos_phi = 1.0
    sin_phi = sqrt(max(0.0, 1 - cos_phi * cos_phi))
    factor = sqrt(3) if system == "3ph" else 2.0
    return factor * (ohm * cos_phi + REACTANCE * sin_phi) * length * current


def power_loss(ohm: float, length: float, current: float, system: str) -> float:
    """The heat in W in the loaded conductors of a run: two of them, three with three phases (`3ph`).

    P = n R L I², with R `ohm` in ohm/m, L `length` in m one way, I `current` in A (Joule's law).
    """
    return (3 if system == "3ph" else 2) * ohm * length * current * current


# ---- what a fault leaves -----------------------------------------------------------------------------
K_FACTORS: dict[tuple[str, ...], int] = {
    ("copper", "pvc"): 115,
    ("copper", "xlpe"): 143,
    ("copper", "rubber"): 134,
    ("aluminium", "pvc"): 76,
    ("aluminium", "xlpe"): 94,
    ("copper", "pvc", "separate"): 143,
    ("copper", "xlpe", "separate"): 176,
}
"""k in A·√s/mm². In a cable: IEC 60364-4-43, table 43A (of the two rubbers the lower, that of 85 °C).
A protective conductor that lies alone starts cooler: IEC 60364-5-54, table A.54.2. 143 stands twice, for
two different things."""
K_THICK_PVC = {"copper": 103, "aluminium": 68}
"""The same for PVC above 300 mm² in a cable, which may only reach 140 °C (IEC 60364-4-43, table 43A)."""
LONGEST_FAULT = 5.0
"""s, up to which no heat is taken to leave the conductor (IEC 60364-4-43, 434.5.2)."""

# Before and at the end of a fault, in °C (same tables).
_HEATED = {"pvc": (70.0, 160.0), "xlpe": (90.0, 250.0), "rubber": (85.0, 220.0)}
_THICK, _THICK_PVC_END = 300.0, 140.0  # mm²; °C that PVC above that size may reach
# A conductor that lies alone starts at 30 °C. Of the two rubbers that of 60 °C is then the lower: it may
# reach 200 °C. (IEC 60364-5-54, table A.54.2; the figures for rubber and for thick PVC from memory.)
_SEPARATE_START, _SEPARATE_RUBBER_END = 30.0, 200.0
# Heat capacity in J/(K·mm³), zero of resistance in °C below 0, resistivity at 20 °C in ohm·mm.
_HEAT = {
    "copper": (3.45e-3, 234.5, 17.241e-6),
    "aluminium": (2.5e-3, 228.0, 28.264e-6),
    "steel": (3.8e-3, 202.0, 138e-6),
}


def k_formula(metal: str, start: float, end: float) -> float:
    """k in A·√s/mm² of a conductor that a fault heats from `start` to `end` °C.

    k = √(Qc (β + 20) / ρ20 · ln((β + end) / (β + start))), with the heat capacity Qc in J/(K·mm³), the zero
    of resistance β in °C below 0 and the resistivity ρ20 in ohm·mm at 20 °C of `metal`: copper, aluminium
    or steel. Source: IEC 60364-5-54:2011, annex A (material constants from memory).
    """
    capacity, zero, resistivity = _HEAT[metal]
    return sqrt(capacity * (zero + 20) / resistivity * log((zero + end) / (zero + start)))


def k_factor(metal: str, insulation: str, area: float, separate: bool = False) -> float:
    """The k of a conductor of `area` mm² in `pvc`, `xlpe` (EPR alike) or `rubber` insulation.

    `metal` is copper or aluminium; `separate` is a protective conductor outside the cable. As tabled; where
    the tables used here are silent, by the formula, rounded down. Raises KeyError for another metal or
    insulation.
    """
    thick_pvc = insulation == "pvc" and area > _THICK
    if thick_pvc and not separate:
        return K_THICK_PVC[metal]
    key = (metal, insulation, "separate") if separate else (metal, insulation)
    if key in K_FACTORS and not thick_pvc:
        return K_FACTORS[key]
    start, end = _HEATED[insulation]
    if separate:
        start = _SEPARATE_START
        end = _THICK_PVC_END if thick_pvc else _SEPARATE_RUBBER_END if insulation == "rubber" else end
    return floor(k_formula(metal, start, end))


def adiabatic_size(current: float, seconds: float, k: float) -> float:
    """The smallest size in mm² that stands `current` A for `seconds`: S = I √t / k, k in A·√s/mm².

    Holds up to 5 s; below 0.1 s the energy that the device lets through decides.
    Source: IEC 60364-4-43:2008, 434.5.2.
    """
    return current * sqrt(seconds) / k

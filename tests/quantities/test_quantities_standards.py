"""Units and gauges against tables of standards. Each row names its source.

The tables were typed from what the row names, so this finds typing faults; the libraries of
`test_quantities_libraries.py` are the second opinion.
"""

from decimal import Decimal
from typing import NamedTuple

import pytest

from sitelog.notation.quantities import (
    KINDS,
    Problem,
    Quantity,
    Unit,
    convert,
    difference_in_base,
    find_unit,
    gauge,
    read_quantity,
)


class Row(NamedTuple):
    number: str
    unit: str
    to: str
    expected: str
    tolerance: str  # absolute; 0 is exact
    source: str


SP811 = "NIST SP 811 (2008), appendix B.8"
ROWS = [
    Row("1", "lbf.in", "Nm", "0.1129848", "1e-7", SP811),
    Row("1", "in-lb", "Nm", "0.11298482902761668", "1e-15", "exact inch and pound-force of " + SP811),
    Row("1", "lbf.ft", "Nm", "1.355818", "1e-6", SP811),
    Row("1", "ft-lb", "Nm", "1.3558179483314004", "0", "exact foot and pound-force of " + SP811),
    Row("1", "ozf.in", "Nm", "0.007061552", "1e-9", SP811),
    Row("1", "kgf.m", "Nm", "9.80665", "0", SP811),
    Row("1", "kgf.cm", "Nm", "0.0980665", "0", "a hundredth of kgf.m in " + SP811),
    Row("1", "lbf", "N", "4.4482216152605", "0", SP811),
    Row("1", "kgf", "N", "9.80665", "0", SP811),
    Row("1", "in", "m", "0.0254", "0", SP811),
    Row("1", "ft", "m", "0.3048", "0", SP811),
    Row("1", "mil", "mm", "0.0254", "0", SP811 + ", mil (0.001 in)"),
    Row("1", "psi", "kPa", "6.894757", "1e-6", SP811),
    Row("1", "bar", "kPa", "100", "0", SP811),
    Row("77", "degF", "degC", "25", "1e-9", SP811 + ", t = (t_F - 32)/1.8"),
    Row("212", "degF", "degC", "100", "1e-9", SP811),
    Row("-40", "degF", "degC", "-40", "1e-9", SP811),
    Row("98.6", "degF", "degC", "37", "1e-9", SP811),
    Row("32", "degF", "degC", "0", "1e-9", SP811),
    Row("32", "degF", "K", "273.15", "1e-9", SP811),
    Row("1", "kcmil", "mm2", "0.5067075", "1e-7", "1000 circular mils of " + SP811),
    Row("1", "Wh", "J", "3600", "0", SP811),
    Row("1", "kWh", "MJ", "3.6", "0", SP811),
    Row("5", "Nm", "lbf.in", "44.2537", "1e-4", "recomputed from the factors of " + SP811),
    Row("5", "Nm", "lbf.ft", "3.68781", "1e-5", "recomputed from the factors of " + SP811),
    Row("5", "Nm", "kgf.cm", "50.9858", "1e-4", "recomputed from the factors of " + SP811),
    Row("44", "lbf.in", "Nm", "4.97133", "1e-5", "recomputed from the factors of " + SP811),
    Row("45", "lbf.in", "Nm", "5.08432", "1e-5", "recomputed from the factors of " + SP811),
    Row("50", "lbf.in", "Nm", "5.64924", "1e-5", "recomputed from the factors of " + SP811),
    Row("5", "lbf.ft", "Nm", "6.77909", "1e-5", "recomputed from the factors of " + SP811),
    Row("3", "ft", "mm", "914.4", "0", "recomputed from the foot of " + SP811),
    Row("1", "lb", "kg", "0.45359237", "0", SP811),
    Row("1", "week", "h", "168", "0", "7 days of 24 hours; SI Brochure, 9th edition, non-SI units accepted"),
    # Torques of slotted screws in NEC Informative Annex I, table I.2, which rounds (2 to 3.3 %).
    Row("7", "lbf.in", "Nm", "0.79", "0.016", "NEC Informative Annex I, table I.2"),
    Row("9", "lbf.in", "Nm", "1.0", "0.02", "NEC Informative Annex I, table I.2"),
    Row("12", "lbf.in", "Nm", "1.4", "0.047", "NEC Informative Annex I, table I.2"),
]


def written(number: str, unit: str) -> Quantity:
    q, problems = read_quantity(number, unit)
    assert q is not None, problems
    return q


def unit(spelling: str) -> Unit:
    found = find_unit(spelling)
    assert isinstance(found, Unit), found
    return found


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.number} {row.unit} in {row.to}")
def test_conversion_as_published(row: Row) -> None:
    converted = convert(written(row.number, row.unit), row.to)
    assert isinstance(converted, Decimal)
    assert abs(converted - Decimal(row.expected)) <= Decimal(row.tolerance)


def test_ampere_hour_is_3600_coulombs() -> None:
    # NIST SP 811 (2008), appendix B.8: 1 A.h = 3600 C = 3600 A.s
    one = written("1", "Ah").base * written("1", "A").base * written("1", "h").base
    assert one == 3600


def test_foot_is_not_the_survey_foot() -> None:
    # NIST SP 811 (2008), appendix B.8: foot (U.S. survey) = 1200/3937 m
    assert written("1", "ft").base != Decimal(1200) / Decimal(3937)
    assert written("1", "foot").base == Decimal("0.3048")


@pytest.mark.parametrize(
    ("given", "difference"),
    [("1", "0.5555555555555555555555555556"), ("9", "5"), ("-9", "-5"), ("18", "10")],
)
def test_difference_in_fahrenheit_has_no_offset(given: str, difference: str) -> None:
    # NIST SP 811 (2008), appendix B.8, temperature interval: 1 degF = 5/9 K
    assert difference_in_base(Decimal(given), unit("degF")) == Decimal(difference)


def test_difference_in_kelvin_is_one_in_celsius() -> None:
    # SI Brochure, 9th edition: the degree Celsius equals the kelvin in magnitude
    assert difference_in_base(Decimal(7), unit("K")) == 7


def test_misprinted_torque_pair_does_not_agree() -> None:
    # An older copy of NEC Informative Annex I prints 111.7 N.m beside 900 lbf.in; it is 101.7.
    converted = convert(written("900", "lbf.in"), "Nm")
    assert isinstance(converted, Decimal)
    assert abs(converted - Decimal("101.686")) < Decimal("0.001")
    assert abs(Decimal("111.7") / converted - 1) > Decimal("0.04")


def test_right_torque_pair_agrees() -> None:
    # 5.0 N.m (44 lbf.in): recomputed from NIST SP 811 (2008), 0.6 % apart
    converted = convert(written("44", "lbf.in"), "Nm")
    assert isinstance(converted, Decimal)
    assert abs(Decimal("5.0") / converted - 1) < Decimal("0.006")


def test_three_feet_is_more_than_nine_hundred_millimetres() -> None:
    # Three feet by NIST SP 811 (2008): 914.4 mm. Metric columns print 0.9 m, which is less.
    three_feet = written("3", "ft").base
    assert written("0.90", "m").base < three_feet
    assert written("36", "in").base == three_feet
    assert written("35", "in").base < three_feet


# gauge, area in mm2, diameter in mm, with half of the last digit shown: ASTM B258 table
GAUGES = [
    ("14", "2.08", "1.628"),
    ("12", "3.31", "2.053"),
    ("10", "5.26", "2.588"),
    ("8", "8.37", "3.264"),
    ("6", "13.3", "4.115"),
    ("4", "21.2", "5.189"),
    ("3", "26.7", "5.827"),
    ("2", "33.6", "6.544"),
    ("1", "42.4", "7.348"),
    ("1/0", "53.5", "8.251"),
    ("2/0", "67.4", "9.266"),
    ("3/0", "85.0", "10.405"),
    ("4/0", "107", "11.684"),
]
# Circular mils, rounded as printed in NEC chapter 9, table 8.
CIRCULAR_MILS = {
    "14": 4110, "12": 6530, "10": 10380, "8": 16510, "6": 26240, "4": 41740, "3": 52620,
    "2": 66360, "1": 83690, "1/0": 105600, "2/0": 133100, "3/0": 167800, "4/0": 211600,
}  # fmt: skip
PI = Decimal("3.141592653589793238462643")


def half_a_digit(shown: str) -> Decimal:
    return Decimal((0, (5,), int(Decimal(shown).as_tuple().exponent) - 1))


@pytest.mark.parametrize(("size", "area", "diameter"), GAUGES)
def test_gauge_as_in_the_table(size: str, area: str, diameter: str) -> None:
    q = gauge(size)
    assert isinstance(q, Quantity)
    # The table rounds half a digit either way: a hair is left for that (8.2515 is printed 8.251).
    hair = Decimal("1.05")
    assert abs(q.base - Decimal(area)) <= half_a_digit(area) * hair
    assert abs((4 * q.base / PI).sqrt() - Decimal(diameter)) <= half_a_digit(diameter) * hair


@pytest.mark.parametrize(("size", "mils"), CIRCULAR_MILS.items())
def test_gauge_in_circular_mils(size: str, mils: int) -> None:
    q = gauge(size)
    assert isinstance(q, Quantity)
    kcmil = convert(q, "kcmil")
    assert isinstance(kcmil, Decimal)
    assert abs(kcmil * 1000 / mils - 1) < Decimal("0.001")


def test_gauges_thinner_than_36() -> None:
    """ASTM B258 (from memory): 40 AWG is 0.0799 mm thick; 41 is not read."""
    q = gauge("40")
    assert isinstance(q, Quantity)
    assert float((4 * q.base / PI).sqrt()) == pytest.approx(0.0799, abs=0.00005)
    assert isinstance(gauge("41"), Problem)


def test_gauge_at_its_exact_ends() -> None:
    # ASTM B258: 36 is 0.005 in, 4/0 is 0.46 in, by definition
    for size, diameter in (("36", "0.127"), ("4/0", "11.684")):
        q = gauge(size)
        assert isinstance(q, Quantity)
        assert abs(q.base - PI / 4 * Decimal(diameter) ** 2) < Decimal("1e-18")


def test_base_units_are_their_own() -> None:
    for kind, base in KINDS.items():
        if kind != "ratio":
            assert unit(base) == (base, kind, 1, 1, 0)

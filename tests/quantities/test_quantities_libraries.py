"""Factors against two unit libraries: the one they were made from, and another."""

from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
import unyt

import sitelog.notation.quantities
from sitelog.notation.quantities import KINDS, Unit, find_unit, in_base
from sitelog.notation.quantities.factors import SPELLINGS, UNITS
from sitelog.notation.quantities.generate import factors, generate, read_units

ROOM = Path(sitelog.notation.quantities.__file__).parent
TABLE = (ROOM / "units.txt").read_text(encoding="utf-8")

# Our normal spelling -> the unit and the base unit of its kind in unyt's words. Missing are only
# what unyt has no word for (kilogram-force, ounce-force, circular mil) and what is no factor.
UNYT = {
    "Nm": ("N*m", "N*m"), "cNm": ("0.01*N*m", "N*m"), "kNm": ("kN*m", "N*m"),
    "in-lb": ("lbf*inch", "N*m"), "ft-lb": ("lbf*ft", "N*m"),
    "Wh": ("W*hr", "W*hr"), "mWh": ("mW*hr", "W*hr"), "kWh": ("kW*hr", "W*hr"),
    "MWh": ("MW*hr", "W*hr"), "J": ("J", "W*hr"), "kJ": ("kJ", "W*hr"), "MJ": ("MJ", "W*hr"),
    "m": ("m", "m"), "mm": ("mm", "m"), "cm": ("cm", "m"), "km": ("km", "m"), "µm": ("um", "m"),
    "in": ("inch", "m"), "ft": ("ft", "m"), "mil": ("mil", "m"),
    "mm2": ("mm**2", "mm**2"), "cm2": ("cm**2", "mm**2"), "m2": ("m**2", "mm**2"),
    "kg": ("kg", "kg"), "g": ("g", "kg"), "lb": ("lb", "kg"),
    "N": ("N", "N"), "kN": ("kN", "N"), "lbf": ("lbf", "N"),
    "V": ("V", "V"), "mV": ("mV", "V"), "kV": ("kV", "V"),
    "A": ("A", "A"), "µA": ("uA", "A"), "mA": ("mA", "A"), "kA": ("kA", "A"),
    "W": ("W", "W"), "mW": ("mW", "W"), "kW": ("kW", "W"), "MW": ("MW", "W"),
    "VA": ("V*A", "V*A"), "kVA": ("kV*A", "V*A"),
    "Ah": ("A*hr", "A*hr"), "mAh": ("mA*hr", "A*hr"), "C-rate": ("1/hr", "1/hr"),
    "ohm": ("ohm", "ohm"), "µΩ": ("uohm", "ohm"), "mΩ": ("mohm", "ohm"), "kΩ": ("kohm", "ohm"),
    "MΩ": ("Mohm", "ohm"), "GΩ": ("Gohm", "ohm"),
    "s": ("s", "s"), "ms": ("ms", "s"), "µs": ("us", "s"), "min": ("minute", "s"), "h": ("hr", "s"),
    "day": ("day", "s"), "week": ("week", "s"),
    "Hz": ("Hz", "Hz"), "kHz": ("kHz", "Hz"), "%": ("percent", "dimensionless"),
    "deg": ("degree", "degree"), "mm/m": ("mm/m", "mm/m"),
    "W/m2": ("W/m**2", "W/m**2"), "kW/m2": ("kW/m**2", "W/m**2"),
    "Pa": ("Pa", "Pa"), "hPa": ("hPa", "Pa"), "kPa": ("kPa", "Pa"), "MPa": ("MPa", "Pa"),
    "bar": ("bar", "Pa"), "mbar": ("mbar", "Pa"), "psi": ("psi", "Pa"),
}  # fmt: skip
NOT_IN_UNYT = {"ozf.in", "kgf.cm", "kgf.m", "kgf", "kcmil"}
WITH_OFFSET = {"degC": "degC", "degF": "degF", "K": "K"}


def unit(spelling: str) -> Unit:
    found = find_unit(spelling)
    assert isinstance(found, Unit), found
    return found


def test_the_checked_in_factors_are_what_pint_gives() -> None:
    assert (ROOM / "factors.py").read_text(encoding="utf-8") == generate(TABLE)


def test_every_factor_agrees_with_pint_in_floating_point() -> None:
    # Another way through pint than the generator's: floats, and a registry of its own.
    import pint

    registry = pint.UnitRegistry(cache_folder=None)
    lines = {line.normal: line for line in read_units(TABLE)}
    for line in lines.values():
        base = KINDS[line.kind]
        target = registry.parse_units(lines[base].expression) if base else registry.dimensionless
        for number in (0.0, 1.0, 250.0):
            if line.expression.isidentifier():
                pinted = registry.Quantity(number, line.expression)
            else:
                pinted = number * registry.parse_expression(line.expression)
            ours = float(in_base(Decimal(number), unit(line.normal)))
            assert ours == pytest.approx(pinted.to(target).magnitude, rel=1e-12, abs=1e-9), line.normal


def test_every_unit_is_checked_by_the_second_library_or_named() -> None:
    assert set(UNYT) | NOT_IN_UNYT | set(WITH_OFFSET) == set(UNITS)


@pytest.mark.parametrize("normal", UNYT)
def test_factor_agrees_with_unyt(normal: str) -> None:
    expression, base = UNYT[normal]
    factor, _, rest = expression.partition("*") if expression[0] == "0" else ("1", "", expression)
    theirs = float(factor) * float(unyt.unyt_quantity(1.0, rest).to(base).value)
    assert float(in_base(Decimal(1), unit(normal))) == pytest.approx(theirs, rel=1e-13)


@pytest.mark.parametrize("normal", WITH_OFFSET)
@pytest.mark.parametrize("number", [-40, 0, 25, 77, 273])
def test_temperature_agrees_with_unyt(normal: str, number: int) -> None:
    theirs = float(unyt.unyt_quantity(float(number), WITH_OFFSET[normal]).to("degC").value)
    assert float(in_base(Decimal(number), unit(normal))) == pytest.approx(theirs, abs=1e-9)


def test_fahrenheit_factor_is_exactly_five_ninths() -> None:
    # NIST SP 811 (2008), appendix B.8
    found = unit("degF")
    assert Fraction(found.numerator) / Fraction(found.denominator) == Fraction(5, 9)
    assert found.offset == -32


def test_pressure_in_psi_is_exact() -> None:
    # NIST SP 811 (2008): lbf = 4.4482216152605 N and in = 0.0254 m, both exact
    found = unit("psi")
    exact = Fraction("4.4482216152605") / Fraction("0.0254") ** 2
    assert Fraction(found.numerator) / Fraction(found.denominator) == exact


@pytest.mark.parametrize(
    "table",
    [
        "Nm | torque | newton * meter | N.m",  # a column short
        "Nm | twist | newton * meter | | SI",  # no such kind
        "Nm | torque | newton * meter | | ",  # no source
        "Nm | torque | newton * meter | N.m N.m | SI",  # twice in a line
        "V | voltage | volt | Vdc | SI\nmV | voltage | millivolt | Vdc | SI",  # twice in the table
    ],
)
def test_a_faulty_table_is_refused(table: str) -> None:
    with pytest.raises(ValueError, match=r"units\.txt:[12]: "):
        read_units(table)


def test_a_unit_of_another_dimension_is_refused() -> None:
    import pint

    lines = read_units("Nm | torque | newton * meter | | SI\nV | torque | volt | | SI")
    with pytest.raises(pint.DimensionalityError):
        factors(lines)


def test_spellings_that_differ_in_case_only_are_of_one_kind() -> None:
    kinds: dict[str, set[str]] = {}
    for spelling, normal in SPELLINGS.items():
        kinds.setdefault(spelling.casefold(), set()).add(UNITS[normal][0])
    assert {folded for folded, found in kinds.items() if len(found) > 1} == set()

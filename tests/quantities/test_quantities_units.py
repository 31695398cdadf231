"""Spellings of units: common practice, no source, unless a line says otherwise."""

import subprocess
import sys
import time

import pytest

from sitelog.notation.quantities import Problem, Unit, find_unit

SPELLINGS = {
    "Nm": "Nm N.m N·m N*m NM n.m N-m N⋅m N∙m",
    "in-lb": "in-lb lb-in lbf.in in.lb inlb in-lbs lbf-in in-lbf lbf·in IN-LB In-Lbs lb·in LBF.IN in‑lb",
    "ft-lb": "ft-lb lb-ft lbf.ft ft.lb ftlb ft-lbs lbf·ft FT-LB Ft-Lbs",
    "kgf.cm": "kgf.cm kgf-cm kgfcm KGF.CM kg-cm",
    "kgf.m": "kgf.m kg-m",
    "ozf.in": "ozf.in oz-in in-oz",
    "cNm": "cNm CNM cnm cN·m",
    "kNm": "kNm",
    "mm": "mm MM Mm mm.",
    "cm": "cm CM",
    "m": "m metre meters",
    "in": "in inch IN in. inches",
    "ft": "ft feet foot FT ft.",
    "mil": "mil mils MIL",
    "µm": "µm um \u03bcm",
    "mm2": "mm2 mm² MM2",
    "kcmil": "kcmil MCM mcm KCMIL",
    "V": "V v Vdc Vac V.dc VDC VAC vac volts",
    "mV": "mV mv",
    "kV": "kV KV kv",
    "A": "A a amps Amp",
    "mA": "mA ma",
    "kA": "kA KA",
    "µA": "µA uA \u03bcA UA",
    "W": "W w",
    "kW": "kW KW kw",
    "MW": "MW Mw",
    "mW": "mW mw",
    "VA": "VA va",
    "kVA": "kVA KVA kva",
    "Wh": "Wh WH wh",
    "kWh": "kWh KWH kwh",
    "MWh": "MWh Mwh",
    "Ah": "Ah AH ah",
    "mAh": "mAh mah mAH",
    "C-rate": "C-rate c-rate C-RATE",
    "ohm": "ohm Ω \u2126 ohms OHM Ohm",
    "mΩ": "mohm mΩ m\u2126 milliohm mOhm",
    "kΩ": "kohm kΩ kOhm KOHM kilohm k\u2126",
    "MΩ": "Mohm MΩ M\u2126 megohm MOhm MEGOHM Megohms",
    "GΩ": "Gohm GΩ gohm GOHM gigohm",
    "µΩ": "µohm µΩ uohm \u03bcΩ",
    "degC": "degC °C ºC C c degc DEGC",
    "degF": "degF °F F f",
    "K": "K kelvin",
    "s": "s sec secs second seconds S sec.",
    "ms": "ms MS msec",
    "min": "min mins minute minutes MIN Min",
    "h": "h hr hrs hour hours H hr.",
    "day": "day days d",
    "week": "week weeks",
    "Hz": "Hz hz HZ",
    "kHz": "kHz khz",
    "%": "%",
    "deg": "deg ° degrees",
    "N": "N n",
    "kN": "kN KN",
    "lbf": "lbf LBF",
    "kgf": "kgf",
    "kg": "kg KG Kg",
    "g": "g",
    "lb": "lb lbs LB",
    "mm/m": "mm/m MM/M",
    "W/m2": "W/m2 W/m² w/m2",
    "bar": "bar BAR",
    "kPa": "kPa kpa KPA",
    "MPa": "MPa MPA",
    "psi": "psi PSI",
    "Pa": "Pa pa PA",
    "J": "J j",
    "kJ": "kJ KJ",
    "MJ": "MJ",
}
PAIRS = [(spelling, normal) for normal, words in SPELLINGS.items() for spelling in words.split()]


def refused(spelling: str) -> Problem:
    found = find_unit(spelling)
    assert isinstance(found, Problem), found
    return found


@pytest.mark.parametrize(("spelling", "normal"), PAIRS)
def test_spelling_is_read(spelling: str, normal: str) -> None:
    found = find_unit(spelling)
    assert isinstance(found, Unit), found
    assert found.normal == normal


def test_no_spelling_is_no_unit() -> None:
    assert find_unit("") == ("", "number", 1, 1, 0)


def test_lower_case_nm_is_refused_with_the_hint() -> None:
    # nm is the symbol of the nanometre: SI Brochure, 9th edition
    assert refused("nm") == ("unit-case", "nm is nanometre", "Nm is newton metre")
    assert refused("nM").slug == "unit-case"


@pytest.mark.parametrize(
    ("spelling", "readings", "help_line"),
    [
        ("MOHM", ("mohm", "Mohm"), "write mohm or Mohm"),
        ("MOHMS", ("mohms", "Mohms"), "write mohms or Mohms"),
        ("MA", ("mA", "MA"), "write mA"),
        ("MV", ("mV", "MV"), "write mV"),
        ("MAH", ("mAh", "MAh"), "write mAh"),
        ("MWH", ("mWh", "MWh"), "write mWh or MWh"),
        ("mj", ("mJ", "MJ"), "write MJ"),
        ("mpa", ("mPa", "MPa"), "write MPa"),
        ("MBAR", ("mbar", "Mbar"), "write mbar"),
    ],
)
def test_milli_or_mega_is_asked(spelling: str, readings: tuple[str, str], help_line: str) -> None:
    # m is milli and M is mega: SI Brochure, 9th edition
    found = refused(spelling)
    assert found.slug == "unit-case"
    assert all(reading in found.message for reading in readings)
    assert found.help == help_line


@pytest.mark.parametrize("spelling", ["k", "M", "G"])
def test_a_prefix_alone_is_refused(spelling: str) -> None:
    assert refused(spelling).slug == "unit-case"


@pytest.mark.parametrize(
    ("spelling", "nearest"),
    [
        ("in-bl", "in-lb"),
        ("Mohn", "mohm"),
        ("kwhh", "kWh"),
        ("R", "ohm"),
        ("months", "days"),
        ("dagC", "degC"),
    ],
)
def test_unknown_unit_names_the_nearest(spelling: str, nearest: str) -> None:
    found = refused(spelling)
    assert found.slug == "unknown-unit"
    assert found.help == f"was {nearest} meant?"


def test_a_word_like_no_unit_gets_no_suggestion() -> None:
    assert refused("xyz") == ("unknown-unit", "xyz is no unit known here", "")


def test_awg_is_no_unit_that_multiplies() -> None:
    assert refused("AWG").slug == refused("awg").slug == "unknown-gauge"


@pytest.mark.parametrize(
    "hostile", ["9**9**9", "Nm**9**9", "__import__('os')", "m" * 100_000, "(" * 5000, "V\x00", "e9", "N m"]
)
def test_hostile_text_is_refused_at_once(hostile: str) -> None:
    began = time.perf_counter()
    found = refused(hostile)
    assert time.perf_counter() - began < 1
    assert found.slug == "unknown-unit"
    assert len(found.message) < 80


@pytest.mark.parametrize(
    ("spelling", "kind"), [("ma", "current"), ("ah", "charge"), ("Nm", "torque"), ("mil", "length")]
)
def test_not_what_a_general_unit_library_reads(spelling: str, kind: str) -> None:
    # pint 0.25.3: ma is milliyears, ah attohours, mil an angle, Nm a metric yarn count (km/kg)
    found = find_unit(spelling)
    assert isinstance(found, Unit)
    assert found.kind == kind


def test_reading_units_imports_no_unit_library() -> None:
    program = (
        "import sys; from sitelog.notation.quantities import read_quantity as read; "
        "read('9.8', 'Nm'); read('5', 'nm'); "
        "print([m for m in ('pint', 'difflib', 'fractions', 'dataclasses', 'lark') if m in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"

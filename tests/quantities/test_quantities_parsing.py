"""From written parts to quantities, and back to text."""

from decimal import Decimal

import pytest

from sitelog.findings.catalog import CATALOG
from sitelog.notation.quantities import (
    KINDS,
    Problem,
    Quantity,
    convert,
    describe_kind,
    feet_inches,
    format_quantity,
    gauge,
    kind_problem,
    read_quantity,
)


def written(number: str, unit: str, bound: str = "") -> Quantity:
    q, problems = read_quantity(number, unit, bound)
    assert q is not None, problems
    return q


def test_a_quantity_keeps_what_was_written() -> None:
    assert read_quantity("9.80", "lbf.in", text="9.80 lbf.in") == (
        Quantity(Decimal("9.80"), "in-lb", "torque", Decimal("1.10725132447064366"), "", "9.80 lbf.in"),
        (),
    )
    assert written("999", "Mohm", ">") == (
        Decimal(999),
        "MΩ",
        "resistance",
        Decimal(999000000),
        ">",
        ">999 Mohm",
    )


def test_a_limit_in_decimal_is_exact() -> None:
    # On the limit is inside only where nothing is lost: 4.5 Nm + 0.2 Nm is 4.7 Nm.
    assert written("4.5", "Nm").base + written("0.2", "Nm").base == written("4.7", "Nm").base
    assert written("0.1", "V").base + written("0.2", "V").base == written("0.3", "V").base


@pytest.mark.parametrize(
    ("number", "unit", "kind", "base"),
    [
        ("5", "Nm", "torque", "5"),
        ("5", "ma", "current", "0.005"),
        ("5", "ah", "charge", "5"),
        ("25", "degC", "temperature", "25"),
        ("25", "C", "temperature", "25"),
        ("300", "K", "temperature", "26.85"),
        ("0.5", "C-rate", "c-rate", "0.5"),
        ("90", "%", "ratio", "0.9"),
        ("250", "kcmil", "area", "126.67686977437443790785"),
        ("5", "", "number", "5"),
    ],
)
def test_kind_and_base(number: str, unit: str, kind: str, base: str) -> None:
    q = written(number, unit)
    assert (q.kind, q.base.quantize(Decimal("1e-15"))) == (kind, Decimal(base).quantize(Decimal("1e-15")))


def test_energy_and_torque_are_two_kinds() -> None:
    assert written("1", "J").kind == "energy"
    assert isinstance(convert(written("1", "J"), "Nm"), Problem)


@pytest.mark.parametrize(
    ("number", "unit", "slugs"),
    [
        ("12,1", "Nm", ["decimal-comma"]),
        ("12,1", "nm", ["decimal-comma", "unit-case"]),
        ("1,000", "Nm", ["thousands-separator"]),
        ("1'000", "mm", ["thousands-separator"]),
        ("x", "bogus", ["bad-number", "unknown-unit"]),
        ("9**9**9", "Nm", ["bad-number"]),
        ("5", "9**9**9", ["unknown-unit"]),
        ("5", "MOHM", ["unit-case"]),
        ("99", "AWG", ["unknown-gauge"]),
        ("#x", "", ["unknown-gauge"]),
        ("3'14\"", "", ["bad-number"]),
    ],
)
def test_every_problem_is_told(number: str, unit: str, slugs: list[str]) -> None:
    q, problems = read_quantity(number, unit)
    assert [problem.slug for problem in problems] == slugs
    assert (q is None) == (slugs != ["decimal-comma"])


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("8", 8), ("36", 36), ("0", 0), ("1/0", 0), ("2/0", -1), ("4/0", -3), ("0000", -3), ("00", -1),
        ("#8", 8), ("8 AWG", 8), ("4/0 awg", -3),
    ],
)  # fmt: skip
def test_gauge_is_read(text: str, number: int) -> None:
    # 1/0 is gauge 0 and 4/0 is gauge -3 in the formula of ASTM B258
    q = gauge(text)
    assert isinstance(q, Quantity)
    assert (q.number, q.unit, q.kind, q.text) == (number, "AWG", "area", text)


@pytest.mark.parametrize(
    "text", ["", "41", "99", "5/0", "0/0", "-3", "8.5", "x", "00000", "8 mm2", "9" * 10_000]
)
def test_no_gauge(text: str) -> None:
    found = gauge(text)
    assert isinstance(found, Problem)
    assert found.slug == "unknown-gauge"


def test_gauge_among_quantities() -> None:
    assert written("8", "AWG").text == "8 AWG"
    assert written("#8", "") == written("8", "AWG")._replace(text="#8")
    assert convert(written("4/0", "AWG"), "awg") == -3
    assert format_quantity(written("4/0", "AWG")) == "4/0 AWG"
    assert format_quantity(written("8", "AWG"), "mm2") == "8.37 mm2"  # ASTM B258 table
    assert written("4/0", "AWG").base > written("1/0", "AWG").base > written("1", "AWG").base
    assert isinstance(convert(written("6", "mm2"), "AWG"), Problem)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("3'2\"", "38"), ("3'", "36"), ("2\"", "2"), ("3' 2-1/2\"", "38.5"), ("3'-2\"", "38"),
        ("2-1/2\"", "2.5"), ("3’2”", "38"), ("3′ 2½″", "38.5"), ("-1'6\"", "-18"),
        ("3.5'", "42.0"), ("5/8\"", "0.625"),
    ],
)  # fmt: skip
def test_feet_and_inches(text: str, inches: str) -> None:
    q = feet_inches(text)
    # The inch is 25.4 mm exactly: NIST SP 811 (2008), appendix B.8
    assert q == Quantity(Decimal(inches), "in", "length", Decimal(inches) * Decimal("0.0254"), "", text)


@pytest.mark.parametrize(
    "text", ["", "'", '"', "3", "3'2", "3'12\"", "2\"3'", "3'2\"1", "x'", "3' -2\" 1", "9" * 9999 + "'"]
)
def test_no_feet_and_inches(text: str) -> None:
    found = feet_inches(text)
    assert isinstance(found, Problem)
    assert found.slug == "bad-number"


def test_feet_and_inches_among_quantities() -> None:
    assert written("3'2\"", "") == Quantity(Decimal(38), "in", "length", Decimal("0.9652"), "", "3'2\"")
    assert written("3", "'").base == Decimal("0.9144")


@pytest.mark.parametrize(
    ("q", "shown"),
    [
        (written("9.8", "Nm"), "9.8 Nm"),
        (written("999", "Mohm", ">"), ">999 MΩ"),
        (written("0.01", "ohm", "<"), "<0.01 ohm"),
        (written("92", "%"), "92 %"),
        (written("8", "AWG"), "8 AWG"),
        (written("12.10", "lbf.in"), "12.10 in-lb"),
        (written("5", ""), "5"),
        (written("-5.40", "V"), "-5.40 V"),
    ],
)
def test_shown_in_its_own_unit(q: Quantity, shown: str) -> None:
    assert format_quantity(q) == shown


@pytest.mark.parametrize(
    ("number", "unit", "to", "shown"),
    [
        # a digit more than written, at least three, from the factors of NIST SP 811 (2008)
        ("12", "Nm", "in-lb", "106 in-lb"),
        ("12.0", "Nm", "in-lb", "106.2 in-lb"),
        ("106", "in-lb", "Nm", "11.98 Nm"),
        ("5", "in-lb", "Nm", "0.565 Nm"),
        ("20", "kPa", "psi", "2.90 psi"),
        ("123456", "Nm", "in-lb", "1092678 in-lb"),
        # a short exact value is not rounded: a limit of 3 ft is no 914 mm
        ("3", "ft", "mm", "914.4 mm"),
        ("0.5", "kWh", "Wh", "500 Wh"),
        ("98.6", "degF", "degC", "37 degC"),
        ("999", "MΩ", "ohm", "999000000 ohm"),
        ("12.0", "Nm", "N.m", "12.0 Nm"),
        ("0", "Nm", "in-lb", "0 in-lb"),
        # no such unit, or one of another kind: as written
        ("12", "Nm", "V", "12 Nm"),
        ("12", "Nm", "bogus", "12 Nm"),
    ],
)
def test_shown_in_another_unit(number: str, unit: str, to: str, shown: str) -> None:
    assert format_quantity(written(number, unit), to) == shown


def test_converting_between_kinds_is_a_problem() -> None:
    found = convert(written("12", "Nm"), "V")
    assert found == Problem("unit-kind", "a torque (Nm, in-lb) cannot be shown in V")
    unknown = convert(written("12", "Nm"), "bogus")
    assert isinstance(unknown, Problem)
    assert unknown.slug == "unknown-unit"


@pytest.mark.parametrize(
    ("number", "unit", "kinds", "problem"),
    [
        ("5", "Nm", ("torque",), None),
        ("5", "Nm", ("energy", "torque"), None),
        ("5", "V", (), None),
        ("5", "V", ("torque",), Problem("unit-kind", "torque wants Nm or in-lb, not V")),
        ("5", "", ("torque",), Problem("no-unit", "5 has no unit", "a torque (Nm, in-lb) wants its unit")),
        ("5", "V", ("number",), Problem("unit-kind", "a number without a unit is wanted, not V")),
        (
            "1",
            "J",
            ("torque",),
            Problem("unit-kind", "torque wants Nm or in-lb, not J", "a torque is written in Nm"),
        ),
        (
            "0.5",
            "C",
            ("c-rate",),
            Problem("unit-kind", "charge rate wants C-rate, not degC", "a charge rate is written 0.5 C-rate"),
        ),
        (
            "2",
            "K",
            ("resistance",),
            Problem("unit-kind", "resistance wants ohm or MΩ, not K", "was kΩ meant?"),
        ),
        (
            "5",
            "V",
            ("torque", "length"),
            Problem("unit-kind", "torque or length wants Nm, in-lb, mm or in, not V"),
        ),
    ],
)
def test_kind_that_is_meant(number: str, unit: str, kinds: tuple[str, ...], problem: Problem | None) -> None:
    assert kind_problem(written(number, unit), kinds) == problem


def test_every_problem_has_its_place_in_the_catalog() -> None:
    ours = (
        "unknown-unit unit-case unit-kind no-unit decimal-comma thousands-separator bad-number unknown-gauge"
    )
    assert set(ours.split()) <= set(CATALOG)
    # A comma is read and only mentioned; all else keeps the value from being used.
    assert [slug for slug in ours.split() if CATALOG[slug].severity != "error"] == ["decimal-comma"]


def test_every_kind_can_be_described_by_units_of_its_own() -> None:
    assert describe_kind("torque") == "a torque (Nm, in-lb)"
    assert describe_kind("number") == "a number without a unit"
    for kind in KINDS:
        inside = describe_kind(kind).partition("(")[2].rstrip(")")
        for unit in filter(None, inside.split(", ")):
            assert written("8", unit).kind == kind

"""Numbers as written: common practice, no source, unless a line says otherwise."""

import time
from decimal import Decimal

import pytest

from sitelog.notation.quantities import Problem, format_number, read_number


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", "12"),
        ("-5.4", "-5.4"),
        ("+1.2", "1.2"),
        ("12.10", "12.10"),
        ("−5.40", "-5.40"),
        (".5", "0.5"),
        ("5.", "5"),
        ("007", "7"),
        ("5/8", "0.625"),
        ("1-1/2", "1.5"),
        ("1 1/2", "1.5"),
        ("-1-1/2", "-1.5"),
        ("1½", "1.5"),
        ("2-¾", "2.75"),
        ("⅝", "0.625"),
        ("3⁄8", "0.375"),
        ("1/3", "0.3333333333333333333333333333"),
        ("1-5/64", "1.078125"),
    ],
)
def test_read(text: str, value: str) -> None:
    assert read_number(text) == (Decimal(value), ())


def test_digits_are_kept_as_written() -> None:
    read = read_number("12.10")
    assert not isinstance(read, Problem)
    assert str(read[0]) == "12.10"


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12,1", "12.1"),
        ("0,500", "0.500"),
        ("1,00", "1.00"),
        ("-5,4", "-5.4"),
        (",5", "0.5"),
        ("1234,567", "1234.567"),
    ],
)
def test_decimal_comma_is_read_with_an_info(text: str, value: str) -> None:
    # A comma or a point on the line is the decimal sign: ISO 80000-1 (from memory)
    read = read_number(text)
    assert not isinstance(read, Problem)
    number, infos = read
    assert str(number) == value
    assert infos == (Problem("decimal-comma", f"{text} was read as {value}", f"write {value}"),)


def test_comma_before_three_digits_names_both_readings() -> None:
    assert read_number("1,000") == Problem(
        "thousands-separator", "1,000 can be read as 1000 or 1.000", "write 1000 or 1.000"
    )
    assert read_number("-12,500") == Problem(
        "thousands-separator", "-12,500 can be read as -12500 or -12.500", "write -12500 or -12.500"
    )


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("1,000.5", "1000.5"),
        ("1.000,5", "1000.5"),
        ("1,000,000", "1000000"),
        ("1.000.000", "1000000"),
        ("1 500", "1500"),
        ("1\u2009500", "1500"),
        ("1\u202f500,5", "1500.5"),
        ("1'000", "1000"),
        ("1’000", "1000"),
        ("1_000", "1000"),
    ],
)
def test_thousands_separator_is_refused(text: str, plain: str) -> None:
    found = read_number(text)
    assert isinstance(found, Problem)
    assert (found.slug, found.help) == ("thousands-separator", f"write {plain}")


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "abc", "1e3", "1E-3", "9**9**9", "0x10", "1/0", "4/0", "1-5/4", "1,000,5", "--5", "+-5",
        "5-", "1.2.3", "inf", "nan", "٣", "１２", "1/2/3", "9" * 21, "9" * 1_000_000, "1/" + "9" * 30,
    ],
)  # fmt: skip
def test_what_is_no_number_is_refused_at_once(text: str) -> None:
    began = time.perf_counter()
    found = read_number(text)
    assert time.perf_counter() - began < 1
    assert isinstance(found, Problem)
    assert found.slug == "bad-number"
    assert len(found.message) < 100


def test_twenty_digits_are_read() -> None:
    assert read_number("12345678901234567890") == (Decimal("12345678901234567890"), ())


@pytest.mark.parametrize(
    ("number", "text"),
    [
        ("12.10", "12.10"),
        ("1E+4", "10000"),
        ("1E-7", "0.0000001"),
        ("-0.0", "0.0"),
        ("-5.4", "-5.4"),
        ("0.3333333333333333333333333333", "0.333333333333"),
    ],
)
def test_shown_plainly(number: str, text: str) -> None:
    assert format_number(Decimal(number)) == text

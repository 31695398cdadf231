"""Words and numbers of pictures."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitelog.report.pictures.words import (
    allowed,
    counted,
    decades,
    engineering,
    lines_of,
    number,
    outside,
    plain,
    round_values,
    shortened,
    width_of,
)

UNITS = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (1000, "MΩ", "1 GΩ"),
        (0.1, "MΩ", "100 kΩ"),
        (0.05, "Ω", "50 mΩ"),
        (999, "MΩ", "999 MΩ"),
        (0.000001, "V", "1 µV"),
        (12.5, "Nm", "12.5 Nm"),
        (0.012, "Nm", "0.012 Nm"),
        (1000, "Nm", "1000 Nm"),
        (88, "degF", "88 degF"),
        (5, "min", "5 min"),
        (1500, "m", "1500 m"),
        (25, "%", "25 %"),
        (0, "MΩ", "0 MΩ"),
        (7, "", "7"),
        (2500, "Wh", "2.5 kWh"),
    ],
)
def test_prefixes(value, unit, shown):
    # SI Brochure, 9th edition, 3: prefixes. A unit that is none of theirs is left alone.
    assert engineering(value, unit) == shown


@given(st.floats(1e-9, 1e9), st.sampled_from(["MΩ", "kΩ", "Ω", "mΩ", "V", "mV", "A", "W", "kWh"]))
def test_a_prefix_changes_no_value(value, unit):
    shown, new = engineering(value, unit).split()
    ratio = (UNITS.Quantity(1, new) / UNITS.Quantity(1, unit)).to("dimensionless").magnitude
    assert float(shown) * ratio == pytest.approx(value, rel=1e-5)
    assert 1 <= float(shown) <= 1000


@given(st.text(max_size=60), st.floats(30, 200), st.integers(1, 4))
def test_broken_words_fit_and_begin_as_they_were(text, width, most):
    text = plain(text)
    lines = lines_of(text, width, most)
    assert 1 <= len(lines) <= most
    assert all(width_of(line) <= width for line in lines)
    whole = "".join("".join(lines).split())
    assert "".join(text.split()).startswith(whole) or (
        whole.endswith("…") and "".join(text.split()).startswith(whole[:-1])
    )
    if width_of(text) <= width:
        assert lines == [text]


def test_words_break_where_people_would_break_them():
    assert lines_of("insulation dc-pos/earth", 130) == ["insulation dc-", "pos/earth"]
    assert lines_of("one two", 40) == ["one", "two"]
    assert lines_of("12\u00a0V dc", 50) == ["12\u00a0V", "dc"]


@given(st.text(max_size=40), st.floats(20, 300))
def test_shortened_text_fits_and_says_that_it_was(text, width):
    short = shortened(text, width)
    assert width_of(short) <= width or short == "…"
    assert short == text or short.endswith("…")


@given(st.text())
def test_what_is_left_of_text_may_stand_in_xml(text):
    # XML 1.0, 2.2: #x9 | #xA | #xD | [#x20-#xD7FF] | [#xE000-#xFFFD] | [#x10000-#x10FFFF]
    for sign in plain(text):
        assert "\x20" <= sign <= "\ud7ff" or "\ue000" <= sign <= "\ufffd" or sign >= "\U00010000"


@pytest.mark.parametrize(
    ("value", "shown"),
    [(12.0, "12"), (0.1 + 0.2, "0.3"), (1e-5, "0.00001"), (1234567.0, "1234567"), (-0.0, "0")],
)
def test_numbers_are_plain(value, shown):
    assert number(value) == shown


def test_no_number_is_said():
    assert number(float("nan")) == "–"
    assert engineering(float("nan"), "MΩ") == "–"


def test_ranges_in_words():
    assert allowed(1, 2, "V") == "1 … 2 V"
    assert allowed(1, None, "MΩ") == "at least 1 MΩ"
    assert allowed(None, 0.2, "Ω") == "at most 0.2 Ω"
    assert allowed(None, None, "Ω") == ""


@given(st.integers(-400, 400), st.integers(1, 400))
def test_on_a_limit_is_inside_however_it_was_computed(above, below):
    exact = Fraction(above, below)
    computed = sum(float(exact) / 7 for _ in range(7))  # a little off, as sums of binary numbers are
    assert not outside(computed, float(exact), float(exact))
    assert outside(float(exact) + 1e-6 * max(1, abs(float(exact))), None, float(exact))


def test_decades_within_a_range():
    assert decades(0.5, 2000, 9) == [1, 10, 100, 1000]
    assert decades(1, 1000, 9) == [1, 10, 100, 1000]
    assert decades(0.5, 2000, 2) == [1, 100]


def test_counts_in_words():
    assert counted(["under", "pass", "pass"]) == "2 pass, 1 under"


@pytest.mark.parametrize(
    ("low", "high", "most", "values"),
    [
        (0, 10, 5, [0, 2, 4, 6, 8, 10]),
        (0, 10, 4, [0, 2.5, 5, 7.5, 10]),
        (5.9, 8.6, 6, [6, 6.5, 7, 7.5, 8, 8.5]),
        (-3000, 1000, 3, [-2000, 0]),
        (1.9, 2.1, 1, [1.9, 2.0, 2.1]),  # one multiple of 0.2 would be too few to read a scale by
        (0.018000000000000002, 0.022, 2, [0.018, 0.02, 0.022]),  # ends that binary numbers miss
        (1e6 + 0.15, 1e6 + 0.7, 3, [1e6 + 0.2, 1e6 + 0.4, 1e6 + 0.6]),
    ],
)
def test_the_values_of_a_scale(low, high, most, values):
    # From the definition: the smallest step of 1, 2, 2.5, 5 times a power of ten that fits; no source.
    assert round_values(low, high, most) == pytest.approx(values, rel=1e-12)


@given(st.floats(-1e9, 1e9), st.floats(1e-3, 1e9), st.integers(1, 6))
def test_a_scale_has_two_values_and_not_too_many(low, width, most):
    values = round_values(low, low + width, most)
    assert 2 <= len(values) <= max(most + 1, 6)
    slack = 1e-8 * width + 1e-9 * abs(low)
    assert all(low - slack <= value <= low + width + slack for value in values)


def test_an_empty_range_has_no_values():
    assert round_values(2, 2, 3) == []

"""Strips and bars: what is drawn for given rows, and that no picture says the opposite of its numbers."""

import re
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitelog.base.text import display_width
from sitelog.notation.quantities import Quantity, read_quantity
from sitelog.views.strips import (
    ASCII,
    UNICODE,
    Bar,
    Strip,
    TextScale,
    _scale,
    bars_text,
    limit_columns,
    mark_column,
    signs_for,
    strips_text,
)
from tests import corpora
from tests.corpora import Case, params

CASES = Path(__file__).with_name("cases.txt")
ALL = corpora.read(CASES)
_VALUE = re.compile(r"([<>]?)([0-9.+-]+) ?(.*)")


def quantity(text: str) -> Quantity | None:
    if not text:
        return None
    match = _VALUE.fullmatch(text)
    assert match, text
    found, problems = read_quantity(match[2], match[3], match[1])
    assert found, problems
    return found


def _row(line: str) -> Strip:
    group, label, value, low, high, u, verdict = (cell.strip() for cell in line.split("|"))
    label = label.replace(r"\x1b", "\x1b")
    return Strip(
        group, label, quantity(value), quantity(low), quantity(high), float(u) if u else None, verdict
    )


def _drawn(case: Case) -> str:
    rows = [_row(line) for line in case.parts[0].splitlines()]
    return strips_text(rows, int(case.value("width")), ASCII if "ascii" in case.attributes else UNICODE)


@pytest.mark.parametrize("case", params(ALL))
def test_drawn_as_the_cases_say(case, expect):
    expect(case, _drawn(case))


@pytest.mark.parametrize("case", params(ALL))
def test_it_fits_the_width_and_the_output(case):
    drawn = _drawn(case)
    assert all(display_width(line) <= int(case.value("width")) for line in drawn.splitlines())
    assert all(line == line.rstrip() for line in drawn.splitlines())
    assert "\x1b" not in drawn
    if "ascii" in case.attributes:
        assert drawn.isascii()


def test_colour_adds_nothing_but_colour():
    rows = [_row(f"joints | a | {value} Nm | 10 Nm | 12 Nm | 0.2 | {verdict}") for value, verdict in VERDICTS]
    plain, painted = strips_text(rows, 80), strips_text(rows, 80, color=True)
    assert re.sub(r"\x1b\[[0-9;]*m", "", painted) == plain
    assert {"\x1b[32m", "\x1b[31m", "\x1b[33m"} <= set(re.findall(r"\x1b\[[0-9]+m", painted))
    for mark, verdict in zip("●×◆○", ("pass", "under", "doubtful", "no-limit"), strict=True):
        assert any(mark in line and line.endswith(verdict) for line in plain.splitlines())


VERDICTS = (("11", "pass"), ("9", "under"), ("11.5", "doubtful"), ("10.5", "no-limit"))


@pytest.mark.parametrize(
    ("encoding", "signs"),
    [
        ("utf-8", UNICODE),
        ("utf-16", UNICODE),
        ("ascii", ASCII),
        ("latin-1", ASCII),
        ("cp1252", ASCII),
        (None, UNICODE),
    ],
)
def test_signs_are_those_that_the_output_has(encoding, signs):
    assert signs_for(encoding) is signs
    if encoding:
        "".join(signs).encode(encoding)


def test_each_sign_of_a_mark_and_a_limit_has_a_shape_of_its_own():
    for signs in (UNICODE, ASCII):
        shapes = (signs.good, signs.wrong, signs.open, signs.plain, signs.low, signs.high, signs.off_left)
        shapes += (signs.off_right, signs.inside, signs.outside, signs.spread, signs.up)
        assert len(set(shapes)) == len(shapes)


# ---- what holds for any numbers --------------------------------------------------------------------
_NUMBERS = st.decimals(-1000, 1000, places=2)
_POSITIVE = st.decimals("0.001", 100000, places=3)


def _torque(number: Decimal) -> Quantity:
    return Quantity(number, "Nm", "torque", number)


def _rows(values, low, high) -> list[Strip]:
    limits = (_torque(low) if low is not None else None, _torque(high) if high is not None else None)
    return [Strip("joints", "a", _torque(value), *limits, None, "pass") for value in values]


@st.composite
def _drawings(draw):
    numbers = draw(st.sampled_from((_NUMBERS, _POSITIVE)))
    values = draw(st.lists(numbers, min_size=1, max_size=12))
    low, high = draw(st.none() | numbers), draw(st.none() | numbers)
    if low is not None and high is not None and low > high:
        low, high = high, low
    rows = _rows(values, low, high)
    return rows, _scale(rows, "Nm", draw(st.integers(16, 60)))


@given(_drawings())
def test_marks_stand_in_the_order_of_their_values(drawing):
    rows, scale = drawing
    limits = limit_columns(rows[0], scale)
    placed = sorted((one.value.base, mark_column(one, one.value, scale, limits)) for one in rows)
    assert [column for _, column in placed] == sorted(column for _, column in placed)


@given(_drawings())
def test_a_limit_is_never_on_the_wrong_side_of_a_mark(drawing):
    rows, scale = drawing
    for one in rows:
        limits = limit_columns(one, scale)
        column = mark_column(one, one.value, scale, limits)
        assert 0 <= column < scale.columns
        if one.low is not None:
            assert (column < limits.low) == (one.value.base < one.low.base)
        if one.high is not None:
            assert (column > limits.high) == (one.value.base > one.high.base)
        if one.low is not None and one.high is not None:
            assert limits.low < limits.high
        assert column not in limits


@given(_drawings())
def test_limits_and_marks_are_drawn_where_they_belong(drawing):
    rows, _ = drawing
    drawn = strips_text(rows, 200).splitlines()[2:]  # behind the rows stands the legend
    for line, one in zip(drawn[: len(rows)], rows, strict=True):
        assert ("├" in line, "┤" in line) == (one.low is not None, one.high is not None)
        assert len(re.findall("[●◀▶]", line)) == 1


@given(_drawings(), st.integers(24, 120))
def test_any_rows_fit_any_width(drawing, width):
    for signs in (UNICODE, ASCII):
        drawn = strips_text(drawing[0], width, signs)
        assert max(map(display_width, drawn.splitlines())) <= width


@given(st.lists(_POSITIVE, min_size=1, max_size=8), _POSITIVE)
def test_every_limit_lies_on_the_scale(values, limit):
    for low, high in ((limit, None), (None, limit), (limit, 2 * limit)):
        rows = _rows(values, low, high)
        scale = _scale(rows, "Nm", 40)
        for bound in (rows[0].low, rows[0].high):
            assert bound is None or 0 <= scale.column(bound) < 40


def test_a_log_axis_gives_each_decade_the_same_room():
    scale = TextScale("Nm", 0.1, 1000.0, True, 41)
    assert [scale.column(_torque(Decimal(one))) for one in ("0.1", "1", "10", "100", "1000")] == [
        0,
        10,
        20,
        30,
        40,
    ]
    assert scale.column(_torque(Decimal("0.09"))) == -1
    assert scale.column(_torque(Decimal(1001))) == 41


# ---- bars ------------------------------------------------------------------------------------------
def test_bars():
    bars = [Bar("bo", "4", 4), Bar("iri", "8", 8), Bar("lo", "0", 0), Bar("wes", "0.01", 0.01)]
    assert bars_text("count per by", bars, 31) == (
        "count per by\nbo   4     ██████████\niri  8     ████████████████████\nlo   0\nwes  0.01  █\n"
    )


def test_bars_below_zero_go_to_the_left_and_in_ascii():
    bars = [Bar("a", "-5 %", -5), Bar("b", "10 %", 10), Bar("c", "0 %", 0)]
    assert bars_text("mean margin", bars, 30, ASCII) == (
        "mean margin\na  -5 %  #######|\nb  10 %         |#############\nc   0 %         |\n"
    )


def test_no_bars_are_nothing():
    assert bars_text("count", [], 80) == ""


@given(
    st.lists(st.tuples(st.text("ab🔋ö ", max_size=30), st.floats(-1e6, 1e6)), min_size=1, max_size=6),
    st.integers(24, 100),
)
def test_bars_fit_and_longer_ones_are_of_more(sizes, width):
    bars = [Bar(label, f"{size:.3g}", size) for label, size in sizes]
    drawn = bars_text("x", bars, width).splitlines()[1:]
    assert max(map(display_width, drawn)) <= width
    if min(size for _, size in sizes) >= 0:
        lengths = sorted((size, line.count("█")) for (_, size), line in zip(sizes, drawn, strict=True))
        assert [length for _, length in lengths] == sorted(length for _, length in lengths)

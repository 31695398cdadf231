"""Properties that hold for any number, unit and text."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from sitelog.notation.quantities import (
    KINDS,
    Problem,
    Quantity,
    Unit,
    convert,
    difference_in_base,
    feet_inches,
    find_unit,
    format_number,
    format_quantity,
    gauge,
    in_base,
    probably_meant,
    read_number,
    read_quantity,
)
from sitelog.notation.quantities.factors import SPELLINGS, UNITS

SAME_KIND = [(a, b) for a in UNITS for b in UNITS if UNITS[a][0] == UNITS[b][0]]
NUMBERS = st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**9), max_value=10**9, places=4)
# Texts near to what is written, so that the rarer forms are met.
NUMBER_LIKE = st.text(st.sampled_from("0123456789.,/-+ '\"½eE_−\u2009#"), max_size=45)


def unit(spelling: str) -> Unit:
    found = find_unit(spelling)
    assert isinstance(found, Unit), found
    return found


@given(NUMBERS, st.sampled_from(SAME_KIND))
def test_there_and_back(number: Decimal, pair: tuple[str, str]) -> None:
    here, there = unit(pair[0]), unit(pair[1])
    q = Quantity(number, here.normal, here.kind, in_base(number, here))
    converted = convert(q, there.normal)
    assert isinstance(converted, Decimal)
    back = convert(Quantity(converted, there.normal, there.kind, in_base(converted, there)), here.normal)
    assert isinstance(back, Decimal)
    assert abs(back - number) <= abs(number) * Decimal("1e-24") + Decimal("1e-18")


@given(NUMBERS, NUMBERS, st.sampled_from(sorted(UNITS)))
def test_a_difference_is_the_difference_of_two_values(low: Decimal, high: Decimal, normal: str) -> None:
    found = unit(normal)
    apart = in_base(high, found) - in_base(low, found)
    tolerance = abs(apart) * Decimal("1e-15") + Decimal("1e-15")
    assert abs(difference_in_base(high - low, found) - apart) <= tolerance


@given(NUMBERS, st.sampled_from(sorted(SPELLINGS)), st.sampled_from(["", "<", ">"]))
def test_shown_and_read_again(number: Decimal, spelling: str, bound: str) -> None:
    q, problems = read_quantity(format_number(number), spelling, bound)
    assert q is not None
    assert problems == ()
    shown = format_quantity(q)
    assert shown.startswith(bound)
    again, problems = read_quantity(*shown.removeprefix(bound).split(" "), bound)
    assert again is not None
    assert problems == ()
    assert again[:5] == q[:5]


@given(st.one_of(NUMBER_LIKE, st.text()))
def test_reading_a_number_never_raises(text: str) -> None:
    read = read_number(text)
    if isinstance(read, Problem):
        assert read.slug in ("bad-number", "thousands-separator")
    else:
        assert read[0].is_finite()
        assert all(problem.slug == "decimal-comma" for problem in read[1])


@given(st.one_of(NUMBER_LIKE, st.text()), st.one_of(st.sampled_from(["Nm", "AWG", "'", '"', ""]), st.text()))
def test_making_never_raises(number: str, spelling: str) -> None:
    q, problems = read_quantity(number, spelling)
    if q is None:
        assert problems
    else:
        assert q.base.is_finite()
        assert q.kind in KINDS
        assert format_quantity(q)


@given(NUMBER_LIKE)
def test_gauges_and_feet_never_raise(text: str) -> None:
    for read in (gauge(text), feet_inches(text)):
        if isinstance(read, Problem):
            assert read.slug in ("unknown-gauge", "bad-number", "thousands-separator")
        else:
            assert read.kind in ("area", "length")


@given(st.sampled_from(sorted(SPELLINGS)), st.data())
def test_letter_case_never_changes_the_kind(spelling: str, data: st.DataObject) -> None:
    shouting = data.draw(st.lists(st.booleans(), min_size=len(spelling), max_size=len(spelling)))
    cased = "".join(c.upper() if up else c.lower() for c, up in zip(spelling, shouting, strict=True))
    found = find_unit(cased)
    if isinstance(found, Problem):
        assert found.slug == "unit-case"
        return
    assert found.kind == UNITS[SPELLINGS[spelling]][0]
    # Only m and M may tell two units of a kind apart, and then it is the written one that counts.
    if found.normal != SPELLINGS[spelling]:
        assert {found.normal[0], SPELLINGS[spelling][0]} == {"m", "M"}
        assert cased[0] == found.normal[0]


@given(NUMBERS, st.sampled_from(sorted(UNITS)), NUMBERS, NUMBERS)
def test_what_was_meant_is_asked_only_where_it_would_pass(
    number: Decimal, normal: str, one: Decimal, other: Decimal
) -> None:
    found = unit(normal)
    q = Quantity(number, normal, found.kind, in_base(number, found))
    low, high = sorted((one, other))
    tried: list[Decimal] = []

    def accept(base: Decimal) -> bool:
        if low <= base <= high:
            tried.append(base)
        return low <= base <= high

    question = probably_meant(q, accept)
    assert question == "" or (tried and question.endswith("?"))

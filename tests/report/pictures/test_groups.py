"""Distributions and counts side by side."""

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitelog.report.pictures.bars import bars
from sitelog.report.pictures.boxes import boxes, quartiles
from tests.report.pictures.looking import drawn, one, parts, rows, spoken, words


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=40))
def test_quartiles_are_those_of_the_statistics_module(values):
    # Python's statistics.quantiles, method "inclusive": type 7 of Hyndman and Fan, "Sample Quantiles in
    # Statistical Packages", The American Statistician 50 (1996).
    assert quartiles(sorted(values)) == pytest.approx(
        tuple(statistics.quantiles(values, n=4, method="inclusive")), rel=1e-9, abs=1e-6
    )


def test_a_box_stands_from_quartile_to_quartile_and_its_line_from_end_to_end():
    values = [float(value) for value in range(0, 101, 5)]
    root = one(boxes([("W1", values), ("W2", [20.0, 80.0])], "%", name="n", low=0, high=100))
    (whole,) = drawn(root, "part ranges")
    (box,) = drawn(root, "part halves")
    (median,) = drawn(root, "part medians")
    (limits, other) = drawn(root, "part limits")
    left, right = whole[0][0], whole[1][0]
    per = (right - left) / 100
    assert limits[0][0] == pytest.approx(left, abs=0.02)
    assert other[0][0] == pytest.approx(right, abs=0.02)
    assert min(x for x, _ in box) == pytest.approx(left + 25 * per, abs=0.02)
    assert max(x for x, _ in box) == pytest.approx(left + 75 * per, abs=0.02)
    assert median[0][0] == pytest.approx(left + 50 * per, abs=0.02)


def test_few_values_are_shown_each_and_have_no_box():
    root = one(boxes([("W1", [1.0, 2.0, 3.0])], "%", name="n"))
    assert drawn(root, "part halves") == []
    (dots,) = [node for node in root.iter() if node.get("class") == "part values"]
    assert len([node for node in dots if node.tag.endswith("use")]) == 3


def test_how_many_lie_outside_stands_beside_each_group():
    root = one(boxes([("shed-1", [99.0, 100.0, 101.0]), ("shed-2", [5.0, 6.0])], "%", name="n", high=100))
    assert "✗ 1 of 3" in words(root)
    assert "✓ 2" in words(root)
    titles = [title for title, _, _, _ in rows(root)]
    assert titles[0] == "shed-1: 3 values from 99 to 101 %, median 100 %, 1 outside"
    assert spoken(root)[1] == "5 values in 2 groups. 1 outside of what is allowed (at most 100 %)."


def test_without_limits_nothing_is_outside():
    root = one(boxes([("shed-1", [99.0, 100.0, 101.0])], "Nm", name="n"))
    assert "3" in words(root)
    assert drawn(root, "part allowed") == []
    assert "outside" not in words(root)


def test_bars_are_as_long_as_their_counts():
    root = one(
        bars([("complete", 40, "good"), ("not complete", 10, "bad"), ("nothing", 0, "quiet")], name="n")
    )
    lengths = {
        kind: max(x for x, _ in path) - min(x for x, _ in path)
        for kind in ("good", "bad", "quiet")
        for path in drawn(root, f"part {kind}")
    }
    assert lengths["good"] == pytest.approx(4 * lengths["bad"], abs=0.05)
    assert lengths["quiet"] == 0
    assert spoken(root) == ("n", "complete 40; not complete 10; nothing 0.")
    assert [word for word in words(root) if " " in word] == ["✓ complete", "✗ not complete", "– nothing"]


def test_a_hundred_groups_make_several_pictures():
    groups = [(f"sheet-{nth}", float(nth), "") for nth in range(100)]
    pictures = parts(bars(groups, name="n"))
    assert len(pictures) == 3
    assert sum(len(list(rows(root))) for root in pictures) == 100
    # One scale for all: the first bar of the last picture is longer than the last of the first.
    longest = [max(x for path in drawn(root, "part plain") for x, _ in path) for root in pictures]
    assert longest == sorted(longest)
    assert longest[0] < longest[-1]

"""Values against their limits: where marks, limits, bars and arrows stand, read from the picture itself."""

import math
from itertools import pairwise
from math import nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitelog.report.pictures.shapes import PlottedValue
from sitelog.report.pictures.spread import spread
from sitelog.report.pictures.strips import strips
from sitelog.report.pictures.style import LINE, TALLEST, WIDTH
from tests.report.pictures.looking import drawn, marks, one, parts, rows, spoken, word_places, words

finite = st.floats(0.001, 1e6)


def near(left: float, right: float) -> bool:
    return abs(left - right) < 0.02  # positions are written to a hundredth


def test_every_value_has_its_row_its_label_its_link_and_its_number():
    some = [
        PlottedValue(f"bracket-{nth}", 10.0 + nth, 9, 15, "", 0.4, "pass", f"#l-{nth + 20}")
        for nth in range(6)
    ]
    some[2] = some[2]._replace(value=8.0, verdict="under", shown="8.0 Nm")
    root = one(strips(some, "Nm", name="brackets"))
    found = list(rows(root))
    assert [link for _, link, _, _ in found] == [f"#l-{nth + 20}" for nth in range(6)]
    assert found[2][0] == "bracket-2: 8.0 Nm, ± 0.4 Nm, under, 9 … 15 Nm"
    assert found[3][0] == "bracket-3: 13 Nm, ± 0.4 Nm, pass, 9 … 15 Nm"
    told = words(root)
    assert [word for word in told if word.startswith("bracket")] == [f"bracket-{nth}" for nth in range(6)]
    assert "✗ 8.0 Nm" in told
    assert "✓ 13" in told
    assert spoken(root) == (
        "brackets",
        "6 values: 5 pass, 1 under. Lowest bracket-2 8.0 Nm, highest bracket-5 15 Nm. Allowed: 9 … 15 Nm.",
    )


@settings(max_examples=30, deadline=None)
@given(st.lists(finite, min_size=2, max_size=8), finite, finite, st.booleans())
def test_marks_stand_in_order_and_on_their_side_of_the_limit(values, one_limit, other, log):
    low, high = sorted((one_limit, other))
    some = [PlottedValue(str(nth), value, low, high, verdict="pass") for nth, value in enumerate(values)]
    root = one(strips(some, "Nm", name="n", log=log))
    places = [x for _, x, _ in marks(root)[: len(values)]]
    limits = sorted({path[0][0] for path in drawn(root, "part limits")})
    for value, x in zip(values, places, strict=True):
        assert 0 <= x <= WIDTH
        for more, further in zip(values, places, strict=True):
            assert x <= further + 0.02 or more < value
        if len(limits) == 2:
            assert (x >= limits[0] - 0.02) == (value >= low) or near(x, limits[0])
            assert (x <= limits[1] + 0.02) == (value <= high) or near(x, limits[1])


def test_a_linear_scale_is_linear_and_its_words_stand_at_their_places():
    some = [PlottedValue("a", value, 0, 10, verdict="pass") for value in (0, 2, 4, 10)]
    root = one(strips(some, "V", name="n"))
    nought, two, four, ten = (x for _, x, _ in marks(root)[:4])
    assert four - nought == pytest.approx(2 * (two - nought), abs=0.05)
    assert ten - nought == pytest.approx(5 * (two - nought), abs=0.05)
    assert word_places(root)["10"][0] == pytest.approx(ten, abs=0.02)


def test_a_logarithmic_scale_has_equal_decades_named_by_their_prefix():
    some = [PlottedValue(str(value), value, 1, verdict="pass") for value in (0.1, 1, 10, 1000, 20)]
    root = one(strips(some, "MΩ", name="n", log=True))
    tenth, first, ten, thousand, twenty = (x for _, x, _ in marks(root)[:5])
    decade = first - tenth
    assert ten - first == pytest.approx(decade, abs=0.03)
    assert thousand - first == pytest.approx(3 * decade, abs=0.05)
    assert twenty - ten == pytest.approx(decade * math.log10(2), abs=0.03)
    (limit,) = drawn(root, "part limits")
    assert limit[0][0] == pytest.approx(first, abs=0.02)
    places = {word: x for word, (x, _) in word_places(root).items() if word.endswith("Ω")}
    assert places["100 kΩ"] == pytest.approx(tenth, abs=0.02)
    assert places["10 MΩ"] == pytest.approx(ten, abs=0.02)
    assert places["1 GΩ"] == pytest.approx(thousand, abs=0.02)
    # Where not every decade has room for words, each still has its line.
    lines = sorted(path[0][0] for path in drawn(root, "part scale"))
    assert [right - left for left, right in pairwise(lines)] == pytest.approx(
        [decade] * (len(lines) - 1), abs=0.05
    )


def test_nought_on_a_logarithmic_scale_stands_at_its_end_with_an_arrow_beyond():
    root = one(
        strips(
            [PlottedValue("a", 0, 1, verdict="under"), PlottedValue("b", 50, 1, verdict="pass")],
            "MΩ",
            name="n",
            log=True,
        )
    )
    (_, nought, _), (_, fifty, _) = marks(root)[:2]
    assert nought < fifty
    shaft = drawn(root, "part bounds")[0]
    assert near(shaft[0][0], nought)
    assert shaft[1][0] < nought
    assert {"✗ 0 MΩ", "✓ 50 MΩ"} <= set(words(root))


@pytest.mark.parametrize(("low", "high"), [(1.0, None), (None, 1.0), (1.0, 2.0), (None, None)])
def test_what_is_allowed_is_shaded_up_to_the_limit_and_no_further(low, high):
    some = [PlottedValue("a", 0.5, low, high, verdict="x"), PlottedValue("b", 3, low, high, verdict="x")]
    root = one(strips(some, "Ω", name="n"))
    (_, left, _), (_, right, _) = marks(root)[:2]
    shaded = drawn(root, "part allowed")
    limits = [path[0][0] for path in drawn(root, "part limits")]
    assert len(limits) == (low is not None) + (high is not None)
    assert len(shaded) == (1 if limits else 0)
    for path in shaded:
        ends = min(x for x, _ in path), max(x for x, _ in path)
        assert near(ends[0], limits[0]) if low is not None else ends[0] < left
        assert near(ends[1], limits[-1]) if high is not None else ends[1] > right


def test_a_limit_that_a_scale_of_decades_has_no_place_for_ends_at_the_plot():
    root = one(strips([PlottedValue("a", 5, 0, 20, verdict="pass")], "MΩ", name="n", log=True))
    (shaded,) = drawn(root, "part allowed")
    (limit,) = drawn(root, "part limits")
    (_, mark, _), *_ = marks(root)
    assert word_places(root)["a"][0] < min(x for x, _ in shaded) < mark < limit[0][0] < WIDTH


def test_rows_with_other_limits_have_their_own_range():
    some = [
        PlottedValue("a", 5, 4, 6),
        PlottedValue("b", 5, 4, 6),
        PlottedValue("c", 5, 4, 7),
        PlottedValue("d", 5),
    ]
    root = one(strips(some, "Nm", name="n"))
    shaded = drawn(root, "part allowed")
    assert len(shaded) == 2
    tops = [(min(y for _, y in path), max(y for _, y in path)) for path in shaded]
    places = [(top, top + height) for _, _, top, height in rows(root)]
    assert tops == [(places[0][0], places[1][1]), places[2]]


def test_the_uncertainty_reaches_as_far_on_both_sides():
    some = [
        PlottedValue("a", 10, 8, 14, "", 1, "pass"),
        PlottedValue("b", 9, 8, 14),
        PlottedValue("c", 11, 8, 14),
    ]
    root = one(strips(some, "Nm", name="n"))
    (_, ten, y), (_, nine, _), (_, eleven, _) = marks(root)[:3]
    bar = drawn(root, "part uncertainty")[0]
    assert [x for x, _ in bar] == pytest.approx([nine, eleven], abs=0.02)
    assert bar[0][1] == bar[1][1] == y
    assert ten == pytest.approx((nine + eleven) / 2, abs=0.02)
    assert "uncertainty, k = 2" in words(root)


@pytest.mark.parametrize(("bound", "way"), [(">", 1), ("<", -1)])
def test_a_bound_has_an_arrow_its_way(bound, way):
    root = one(
        strips(
            [PlottedValue("a", 999, 1, None, bound, None, "pass"), PlottedValue("b", 500, 1)], "MΩ", name="n"
        )
    )
    (_, x, y), *_ = marks(root)
    shaft, _ = drawn(root, "part bounds")
    assert shaft[0] == pytest.approx((x, y), abs=0.02)
    assert (shaft[1][0] - x) * way > 8
    assert f"✓ {bound}999" in words(root)


@pytest.mark.parametrize("log", [False, True])
def test_what_is_missing_has_a_row_and_no_mark_in_the_plot(log):
    some = [
        PlottedValue("a", 5, 4, 6, verdict="pass"),
        PlottedValue("b", nan, 4, 6, verdict="missing", link="#l-2"),
    ]
    root = one(strips(some, "Nm", name="n", log=log))
    bottom = max(top + height for _, _, top, height in rows(root))
    assert [kind for kind, _, y in marks(root) if y < bottom] == ["good"]
    assert "○ missing" in words(root)
    assert spoken(root)[1].startswith("2 values: 1 pass, 1 missing.")


def test_the_mark_says_the_verdict_by_its_class():
    verdicts = [
        "pass",
        "under",
        "over",
        "not-ok",
        "doubtful",
        "untraceable",
        "not-tested",
        "no-limit",
        "n/a",
        "",
    ]
    some = [PlottedValue(verdict, 5, verdict=verdict) for verdict in verdicts]
    root = one(strips(some, "Nm", name="n"))
    kinds = [kind for kind, _, _ in marks(root)[: len(verdicts)]]
    assert kinds == ["good", "bad", "bad", "bad", "open", "open", "open", "quiet", "quiet", "plain"]
    # Those of one class are told apart in words.
    assert "under, over, not-ok" in words(root)


def test_a_hundred_rows_neither_overlap_nor_outgrow_a_page():
    labels = [f"lug-{nth}" if nth % 7 else f"Schutzleiteranschlussklemme-hinten-{nth}" for nth in range(100)]
    some = [PlottedValue(label, 7, 6, 8, verdict="pass", link="#l-1") for label in labels]
    pictures = parts(strips(some, "Nm", name="lugs"))
    assert len(pictures) > 2
    found = [list(rows(root)) for root in pictures]
    assert [title.split(":")[0] for some_rows in found for title, _, _, _ in some_rows] == labels
    scales = set()
    for nth, root in enumerate(pictures, 1):
        assert spoken(root)[0] == f"lugs ({nth} of {len(pictures)})"
        assert float(root.get("height", "")) <= TALLEST + 60
        last = 0.0
        for _, _, top, height in found[nth - 1]:
            assert top >= last
            assert height >= LINE
            last = top + height
        feet = sorted(y for word, (x, y) in word_places(root).items() if x == 0 and y < last)
        assert min(lower - upper for upper, lower in pairwise(feet)) >= LINE - 0.01
        scales |= {(x, word) for word, (x, _) in word_places(root).items() if word in ("6", "7", "8")}
    assert len(scales) == 3  # the same scale in all of them


def test_a_long_label_is_broken_and_whole_in_the_title():
    label = "Erdungsanschluss-Gehäuseunterseite-hinten-links-neben-der-Klemmenleiste-des-Wechselrichters"
    root = one(strips([PlottedValue(label, 5, 4, 6, verdict="pass")], "Nm", name="n"))
    ((title, _, _, height),) = rows(root)
    assert title.startswith(f"{label}: 5 Nm")
    assert height >= 3 * LINE
    shown = [
        word for word, (x, y) in word_places(root).items() if x == 0 and y < 30 + height and word != "Nm"
    ]
    assert "".join(shown).rstrip("…") == label[: len("".join(shown)) - 1]
    assert shown[-1].endswith("…")


# ---- cells beside each other ---------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("allowed", "note"),
    [
        (0.03, "✗ 0.04 V apart, allowed 0.03 V"),
        # 3.35 - 3.31 is more than 0.04 in binary numbers; on the limit is inside.
        (0.04, "✓ 0.04 V apart, allowed 0.04 V"),
        (None, "0.04 V apart"),
    ],
)
def test_how_far_apart_cells_are(allowed, note):
    some = [PlottedValue(f"cell-{nth}", value) for nth, value in enumerate((3.32, 3.31, 3.315, 3.35))]
    root = one(spread(some, "V", name="cells", allowed=allowed))
    assert note in words(root)
    assert note in spoken(root)[1]
    assert {kind for kind, _, _ in marks(root)} == {"plain"}  # a cell has no verdict of its own


def test_one_cell_alone_is_apart_from_none():
    root = one(
        spread(
            [PlottedValue("a", 3.3), PlottedValue("b", nan, verdict="missing")], "V", name="n", allowed=0.03
        )
    )
    assert not any("apart" in word for word in (*words(root), *spoken(root)))


def test_the_allowed_distance_is_shaded_around_most_of_the_cells():
    some = [PlottedValue(str(nth), value) for nth, value in enumerate((3.20, 3.31, 3.32, 3.315, 3.325))]
    root = one(spread(some, "V", name="cells", allowed=0.03))
    (shaded,) = drawn(root, "part allowed")
    left, right = min(x for x, _ in shaded), max(x for x, _ in shaded)
    places = [x for _, x, _ in marks(root)]
    assert [left <= x <= right for x in places] == [False, True, True, True, True]
    width = (places[2] - places[1]) / 0.01 * 0.03
    assert right - left == pytest.approx(width, abs=0.1)

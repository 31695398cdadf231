"""Pictures over time: one day, several visits, a trial."""

from datetime import date

import pytest

from sitelog.files.trials.curve import Channel, Curve
from sitelog.report.pictures.shapes import Event
from sitelog.report.pictures.timeline import clock, lasting, timeline
from sitelog.report.pictures.trend import trend
from sitelog.report.pictures.trial import stretches, trial
from tests.report.pictures.examples import CURVE
from tests.report.pictures.looking import drawn, marks, one, parts, rows, spoken, word_places, words

DAYS = [date(2024, 3, 1), date(2025, 3, 1), date(2026, 3, 1)]


# ---- one day -------------------------------------------------------------------------------------------
def test_entries_stand_in_the_order_they_are_given_with_their_times():
    events = [Event(485, None, "delivery", "did", "pass", "#l-1"), Event(612.5, None, "breaker-on", "did")]
    root = one(timeline(events, name="2026-03-02"))
    places = word_places(root)
    assert places["08:05"][1] == places["delivery"][1] < places["10:12"][1] == places["breaker-on"][1]
    assert [link for _, link, _, _ in rows(root)] == ["#l-1", ""]
    assert spoken(root) == ("2026-03-02", "2 entries from 08:05 to 10:12; 0 waits, 0 failing.")


@pytest.mark.parametrize(("waited", "share"), [(5, 0.5), (10, 1.0), (12, 1.2), (0, 0.0)])
def test_a_wait_is_as_long_as_its_share_of_what_was_asked(waited, share):
    root = one(timeline([Event(600, 600 + waited, "settle", "did", "pass", "", 10)], name="n"))
    (bar,) = drawn(root, "part waits")
    (asked,) = drawn(root, "part asked")
    whole = asked[1][0] - asked[0][0]
    assert max(x for x, _ in bar) - min(x for x, _ in bar) == pytest.approx(share * whole, abs=0.03)
    assert f"waited {lasting(waited)}, asked 10 min" in words(root)


def test_the_asked_wait_ends_at_one_place_in_all_rows():
    events = [Event(600, 610, "a", "", "", "", 10), Event(620, 621.5, "b", "", "too-soon", "", 600)]
    root = one(timeline(events, name="n"))
    first, second = drawn(root, "part ends")
    assert first[0][0] == second[0][0]


def test_a_wait_far_too_long_stays_in_its_room():
    root = one(timeline([Event(0, 600, "a", "", "pass", "", 1)], name="n"))
    (bar,) = drawn(root, "part waits")
    (text,) = [node for node in root.iter() if (node.text or "").startswith("waited 10")]
    assert max(x for x, _ in bar) < float(text.get("x", "")) - 100


def test_a_wait_that_nobody_wrote_down_or_asked_for_has_no_bar():
    root = one(timeline([Event(600, None, "settle", "did", "missing", "", 15)], name="n"))
    assert "asked 15 min" in words(root)
    assert drawn(root, "part waits") == []
    assert len(drawn(root, "part ends")) == 1
    root = one(timeline([Event(600, 602, "settle", "did", "pass")], name="n"))
    assert "waited 120 s" in words(root)
    assert drawn(root, "part waits") == drawn(root, "part ends") == []


def test_what_was_out_of_order_is_said_in_words():
    events = [
        Event(600, None, "breaker-on", "did", "pass"),
        Event(590, None, "torque", "torque", "out-of-order"),
        Event(None, None, "note", "note"),
        Event(595, None, "later", "did"),
    ]
    told = words(one(timeline(events, name="n")))
    assert "✗ out-of-order" in told
    assert told.count("△ earlier than what stands above") == 1


def test_a_wait_stands_at_its_end():
    # A step is done when its wait is over; that it began before the line above is no slip.
    events = [Event(600, None, "a", "did"), Event(595, 605, "b", "did", "pass", "", 10)]
    told = words(one(timeline(events, name="n")))
    assert "10:05" in told
    assert "△ earlier than what stands above" not in told


def test_a_long_day_makes_several_pictures_and_loses_nothing():
    events = [Event(480 + nth, None, f"entry-{nth}", "did", "pass") for nth in range(80)]
    pictures = parts(timeline(events, name="n"))
    assert len(pictures) == 3
    assert sum(len(list(rows(root))) for root in pictures) == 80


@pytest.mark.parametrize(
    ("minutes", "shown"), [(0, "00:00"), (485.99, "08:05"), (1439, "23:59"), (1450, "00:10+"), (None, "–")]
)
def test_times_of_day(minutes, shown):
    assert clock(minutes) == shown


@pytest.mark.parametrize(
    ("minutes", "shown"),
    [(1, "60 s"), (130 / 60, "130 s"), (5, "5 min"), (90.5, "90.5 min"), (180, "3 h"), (0, "0 s")],
)
def test_lengths_of_time(minutes, shown):
    assert lasting(minutes) == shown


# ---- several visits ------------------------------------------------------------------------------------
def test_values_over_visits_stand_by_their_days_and_beside_their_limit():
    values = [(DAYS[1], 100.0, ""), (DAYS[0], 1000.0, ">"), (DAYS[2], 0.1, "")]
    root = one(trend([("dc-pos/earth", values)], "MΩ", name="insulation", low=1, log=True))
    (course,) = drawn(root, "part course")
    (limit,) = drawn(root, "part limits")
    (first, second, third) = course
    whole = (DAYS[2] - DAYS[0]).days
    assert (second[0] - first[0]) / (third[0] - first[0]) == pytest.approx(
        (DAYS[1] - DAYS[0]).days / whole, abs=1e-3
    )
    decade = second[1] - first[1]
    assert decade > 0  # down the page
    assert limit[0][1] - second[1] == pytest.approx(2 * decade, abs=0.03)
    assert third[1] - limit[0][1] == pytest.approx(decade, abs=0.03)
    assert [kind for kind, _, _ in sorted(marks(root), key=lambda mark: mark[1])] == ["good", "good", "bad"]
    shaft = drawn(root, "part bounds")[0]
    assert shaft[1][1] < shaft[0][1]  # more than: up
    told = words(root)
    assert ">1 GΩ → 100 kΩ" in told
    assert "shaded: at least 1 MΩ" in told
    assert {"2024-03-01", "2026-03-01"} <= set(told)


def test_all_places_share_one_scale():
    lines = [
        ("a", [(DAYS[0], 10.0, ""), (DAYS[1], 5.0, "")]),
        ("b", [(DAYS[0], 10.0, ""), (DAYS[1], 10.0, "")]),
    ]
    first, second = drawn(one(trend(lines, "Nm", name="n")), "part course")
    assert second[0] == pytest.approx((first[0][0], second[1][1]), abs=0.02)
    assert first[1][1] > first[0][1]


def test_a_single_visit_and_nought_on_a_logarithmic_scale():
    root = one(trend([("a", [(DAYS[0], 0.0, ""), (DAYS[0], 5.0, "")]), ("b", [])], "MΩ", name="n", log=True))
    assert [title for title, _, _, _ in rows(root)] == ["a: 2024-03-01 5 MΩ"]


def test_a_limit_of_nought_is_a_limit():
    root = one(trend([("a", [(DAYS[0], -5.0, ""), (DAYS[1], 5.0, "")])], "V", name="n", low=0.0))
    (shaded,) = drawn(root, "part allowed")
    (limit,) = drawn(root, "part limits")
    assert max(y for _, y in shaded) == limit[0][1]


# ---- a trial -------------------------------------------------------------------------------------------
def test_a_limit_that_a_scale_of_decades_has_no_place_for_has_no_line():
    root = one(trend([("a", [(DAYS[0], 5.0, ""), (DAYS[1], 9.0, "")])], "MΩ", name="n", low=0.0, log=True))
    (shaded,) = drawn(root, "part allowed")
    (_, _, top, height), *_ = rows(root)
    assert all(top <= y <= top + height for _, y in shaded)
    assert drawn(root, "part limits") == []


def test_a_gap_stays_open():
    hours = [seconds / 3600 for seconds in CURVE.seconds]
    before, after = stretches(hours, CURVE.channels[0].values, CURVE.breaks)
    assert [hour for hour, _ in before] == hours[:3]
    assert [hour for hour, _ in after] == hours[3:]
    root = one(trial(CURVE, name="n"))
    courses = drawn(root, "part course")
    assert [len(path) for path in courses] == [3, 3, 2, 3]  # power, then the state of charge
    assert spoken(root)[1].endswith("6 rows, 1 gap in the record.")


def test_all_plots_share_the_axis_of_time():
    root = one(trial(CURVE, name="n"))
    starts = {path[0][0] for kind in ("part course", "part out", "part in") for path in drawn(root, kind)}
    assert len(starts) == 2  # where the record begins, and where it goes on
    tops = [path[0][1] for path in drawn(root, "part course")]
    assert tops == sorted(tops)


def test_thousands_are_shown_with_their_prefix_and_others_are_not():
    told = words(one(trial(CURVE, name="n")))
    assert "power, kW" in told
    assert "energy, Wh" in told
    assert "+ charges, − discharges" in told


def test_what_goes_out_and_in_is_told_apart_by_its_line():
    root = one(trial(CURVE, name="n"))
    (out,) = [node for node in root.iter() if node.get("class") == "part out"]
    (into,) = [node for node in root.iter() if node.get("class") == "part in"]
    assert "dasharray" not in out.get("style", "")
    assert "dasharray" in into.get("style", "")
    assert {"out", "in"} <= set(words(root))


def test_a_trial_that_never_moves_is_drawn():
    still = Curve((0.0, 1.0), (Channel("voltage", "", "V", (50.0, 50.0)),), (), 2)
    assert len(drawn(one(trial(still, name="n")), "part course")) == 1
    assert trial(Curve((0.0, 0.0), (Channel("voltage", "", "V", (50.0, 50.0)),), (), 2), name="n")

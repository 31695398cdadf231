"""The course of a trial, thinned out: nothing that a picture must show is lost."""

import random
import tracemalloc
from pathlib import Path

import pytest

from sitelog.files.trials.curve import MOST_POINTS, Channel, Curve, read_curve
from sitelog.files.trials.reading import read_trial
from sitelog.files.trials.results import Trial, TrialFault
from tests.trials.writing import table

HEADER = "time [s],current [A],voltage [V]"
EXAMPLES = Path(__file__).parents[2] / "example_logs" / "sites"


def curve(tmp_path: Path, text: str, what: str = "discharge") -> Curve:
    found = read_curve(str(written(tmp_path, text)), what)
    assert isinstance(found, Curve), found
    return found


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "trial.csv"
    path.write_text(text, encoding="utf-8")
    return path


def course(curve: Curve, group: str, name: str = "") -> Channel:
    (found,) = [one for one in curve.channels if (one.group, one.name) == (group, name)]
    return found


def test_a_short_file_is_kept_whole(tmp_path):
    rows = [(0, -10, 52), (10, -10, 51), (20, -10, 50), (30, 0, 52)]
    found = curve(tmp_path, table(HEADER, rows))
    assert found.seconds == (0, 10, 20, 30)
    assert course(found, "power").values == (-520, -510, -500, 0)
    assert course(found, "voltage").values == (52, 51, 50, 52)
    # Trapezoids: 515 W for 10 s, 505 W for 10 s, 250 W for 10 s. Common practice, no source.
    assert course(found, "energy", "out").values == pytest.approx(
        (0, 5150 / 3600, 10200 / 3600, 12700 / 3600)
    )
    assert found.breaks == ()
    assert [(one.group, one.unit) for one in found.channels] == [
        ("power", "W"),
        ("energy", "Wh"),
        ("voltage", "V"),
    ]


def test_a_long_file_keeps_its_peaks_and_its_ends(tmp_path):
    chance = random.Random(4)
    rows = [(at, -30 + chance.gauss(0, 0.2), 50 + chance.gauss(0, 0.1)) for at in range(20_000)]
    rows[7_777] = (7_777, -95, 44)  # one row each, as an inrush leaves them
    rows[12_345] = (12_345, -25.5, 59)  # a power like that of its neighbours
    rows[15_555] = (15_555, 0, 50)
    text = table(HEADER, rows)
    found = curve(tmp_path, text)
    assert 100 < len(found.seconds) <= MOST_POINTS
    assert found.rows == 20_000
    assert (found.seconds[0], found.seconds[-1]) == (0, 19_999)
    assert list(found.seconds) == sorted(set(found.seconds))
    at = found.seconds.index(7_777)
    assert course(found, "power").values[at] == -95 * 44 == min(course(found, "power").values)
    voltage = course(found, "voltage").values
    assert (min(voltage), max(voltage)) == (44, 59)
    assert voltage[found.seconds.index(12_345)] == 59
    assert course(found, "power").values[found.seconds.index(15_555)] == 0


def test_its_last_energy_is_that_of_the_trial(tmp_path):
    chance = random.Random(5)
    rows = [(at * 5, chance.choice((-20, -20, 0, 15)), 50 + chance.random()) for at in range(3_000)]
    path = written(tmp_path, table(HEADER, rows))
    found, whole = read_curve(str(path), "discharge"), read_trial(str(path), "discharge")
    assert isinstance(found, Curve)
    assert isinstance(whole, Trial)
    assert course(found, "energy", "out").values[-1] == whole.energy_out
    assert course(found, "energy", "in").values[-1] == whole.energy_in
    assert whole.voltage is not None
    assert min(course(found, "voltage").values) == whole.voltage.low
    assert max(course(found, "voltage").values) == whole.voltage.high


@pytest.mark.parametrize("rows", [40, 9_000])
def test_a_gap_is_a_break_with_its_own_edges(tmp_path, rows):
    middle = rows // 2 + 3
    data = [(at * 2 + (900 if at >= middle else 0), -10, 50) for at in range(rows)]
    found = curve(tmp_path, table(HEADER, data))
    (broken,) = found.breaks
    assert (found.seconds[broken - 1], found.seconds[broken]) == (data[middle - 1][0], data[middle][0])


def test_more_gaps_than_points_stay_within_the_most(tmp_path):
    data = [(at // 10 * 1_000 + at % 10, -10, 50) for at in range(10_000)]
    found = curve(tmp_path, table(HEADER, data))
    assert len(found.seconds) <= MOST_POINTS
    assert len(found.breaks) > 20


def test_a_time_that_begins_again_goes_on_with_a_break(tmp_path):
    data = [(at, -10, 50) for at in range(20)] + [(at, -10, 49) for at in range(20)]
    found = curve(tmp_path, table(HEADER, data))
    assert list(found.seconds) == sorted(found.seconds)
    assert found.seconds[-1] == 19 + 19
    assert len(found.breaks) == 1


def test_charging_is_positive_whatever_the_file_s_sign(tmp_path):
    # In the file the discharge is positive: the voltage falls with it.
    rows = [(0, 0, 52), (10, 10, 51), (20, 10, 50), (30, 0, 52), (40, -10, 53), (50, -10, 54)]
    found = curve(tmp_path, table(HEADER, rows))
    assert course(found, "power").values == (0, -510, -500, 0, 530, 540)


def test_a_file_without_a_voltage_shows_current_and_charge(tmp_path):
    found = curve(tmp_path, table("time [s],current [A]", [(0, -10), (1800, -10), (3600, -10)]))
    assert [(one.group, one.name, one.unit) for one in found.channels] == [
        ("current", "", "A"),
        ("charge", "out", "Ah"),
    ]
    assert course(found, "charge", "out").values == (0, 5, 10)


def test_counters_show_what_they_counted(tmp_path):
    found = curve(tmp_path, table("time [s],energy out [Wh]", [(0, 100), (60, 150), (120, 180)]))
    assert course(found, "energy", "out").values == (0, 50, 80)


def test_the_state_of_charge_is_in_per_cent(tmp_path):
    rows = [(0, -10, 52, 90), (10, -10, 51, 80)]
    found = curve(tmp_path, table(f"{HEADER},soc [%]", rows))
    assert course(found, "state of charge").values == (90, 80)


def test_what_cannot_be_read_is_said_as_for_the_trial(tmp_path):
    text = "time,nothing\n1,2\n"
    path = str(written(tmp_path, text))
    assert isinstance(read_curve(path), TrialFault)
    assert read_curve(path) == read_trial(path)
    assert isinstance(read_curve(str(tmp_path / "absent.csv")), TrialFault)


def test_memory_does_not_grow_with_the_file(tmp_path):
    def held(rows: int) -> int:
        path = written(tmp_path, table(HEADER, ((at, -10 - at % 7, 50 + at % 5) for at in range(rows))))
        tracemalloc.start()
        try:
            read_curve(str(path), "discharge")
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    held(1_000)
    assert held(40_000) < 2 * held(4_000)


def test_the_example_has_one():
    found = read_curve(str(EXAMPLES / "maple-118-trial.csv"), "discharge")
    assert isinstance(found, Curve)
    assert {one.group for one in found.channels} == {"power", "energy", "voltage", "temperature"}

"""What a file does not show is no evidence: counters that jump, holes, hot cells, trials of other days."""

from pathlib import Path

import pytest

from sitelog.asking.subjects import SUBJECTS
from sitelog.fleet.workspace import Workspace, rows
from tests.trials.test_trials_verdicts import judged, verdict
from tests.trials.writing import table, trial

Cells = list[float | str]


def counted(values: Cells, step: int = 60, header: str = "time [s],energy [kWh]") -> str:
    """A file of one counter that counts what was discharged."""
    return table(header, [(step * k, value) for k, value in enumerate(values)])


def tried(tmp_path: Path, asked: str, csv: str, what: str = "discharge") -> tuple[str, str]:
    """The verdict of a trial, and its reasons in one line."""
    return verdict(judged(tmp_path, f"series {what} {asked}", f"series {what} trial-1.csv", csv))


def basis(workspace: Workspace) -> str:
    """What the figures of the one trial rest on."""
    names = [column.name for column in SUBJECTS["series"].all_columns]
    (row,) = [dict(zip(names, one, strict=True)) for one in rows(workspace)["series"]]
    return str(row["basis"])


EVEN: Cells = [100 + k / 4 for k in range(20)]
"""4.75 kWh in 19 rises of 0.25 kWh."""


def test_an_even_counter_passes(tmp_path: Path) -> None:
    assert tried(tmp_path, "energy >= 4.7 kWh", counted(EVEN)) == ("pass", "")


@pytest.mark.parametrize(
    ("at", "values", "lines"),
    [
        (8, [0], "line 10"),
        (8, [0, 0, 0], "lines 10 to 12"),
        (8, [""], "line 10"),
        (8, [50], "line 10"),
        (8, [9000], "line 10"),
        (17, [0, 0, 0], "lines 19 to 21"),
    ],
    ids=["a zero", "zeros", "a blank", "half", "a spike", "zeros to the end"],
)
def test_a_glitch_of_a_counter_is_a_fault_of_the_data(
    tmp_path: Path, at: int, values: Cells, lines: str
) -> None:
    """The sum across it would be 100 kWh or more; nothing is summed across."""
    glitched = [*EVEN[:at], *values, *EVEN[at + len(values) :]]
    found = tried(tmp_path, "energy >= 4.0 kWh", counted(glitched))
    assert found[0] == "doubtful"
    assert lines in found[1]
    assert (trial(tmp_path, counted(glitched), "discharge").energy_out or 0) <= 4750


def test_a_counter_that_jumps_once_is_doubtful(tmp_path: Path) -> None:
    found = tried(tmp_path, "energy >= 4.0 kWh", counted([*EVEN[:8], *(float(v) + 300 for v in EVEN[8:])]))
    assert found[0] == "doubtful"
    assert "most of its whole rise in this one row" in found[1]


def test_two_discharges_with_a_charge_between_are_two(tmp_path: Path) -> None:
    """5 kWh out, 5 kWh in, 5 kWh out: the one that is asked is 5 kWh, by counters as by power."""
    ways = ["out"] * 20 + ["in"] * 20 + ["out"] * 20
    out = into = 0.0
    counters, powers = [(0, 0.0, 0.0)], [(0, -5000, 0)]
    for k, way in enumerate(ways, 1):
        out, into = out + (way == "out") / 4, into + (way == "in") / 4
        counters.append((180 * k, out, into))
        powers.append((180 * k, -5000 if way == "out" else 5000, 0))
    by_counters = table("time [s],Discharge_Energy [kWh],Charge_Energy [kWh]", counters)
    assert tried(tmp_path, "energy >= 9.5 kWh", by_counters)[0] == "under"
    assert tried(tmp_path, "energy >= 4.9 kWh", by_counters)[0] == "pass"
    assert trial(tmp_path, by_counters, "discharge").discharges == 2


def test_a_counter_of_one_way_that_stands_still_leaves_a_charge_open(tmp_path: Path) -> None:
    still = [*EVEN[:10], *[EVEN[9]] * 12, *EVEN[10:]]
    found = tried(tmp_path, "energy >= 4.7 kWh", counted(still))
    assert (found[0], "whether it went the other way" in found[1]) == ("doubtful", True)


def test_runs_as_large_that_would_be_judged_otherwise(tmp_path: Path) -> None:
    """5.0 and 4.8 kWh out in one file against 4.9 kWh: which one was meant is not in the file."""
    current = [*[-100] * 361, *[100] * 361, *[-96] * 361]
    csv = table(
        "time [s],current [A],voltage [V]", [(5 * k, i, 100 + i / 100) for k, i in enumerate(current)]
    )
    assert tried(tmp_path, "energy >= 4.9 kWh", csv)[0] == "doubtful"
    assert tried(tmp_path, "energy >= 4.5 kWh", csv)[0] == "pass"
    assert tried(tmp_path, "energy >= 9 kWh", csv)[0] == "under"


def test_a_hole_in_a_counter_is_not_summed_across(tmp_path: Path) -> None:
    rows = [(60 * k + (259_200 if k > 9 else 0), value) for k, value in enumerate(EVEN)]
    found = tried(tmp_path, "energy >= 4.0 kWh", table("time [s],energy [kWh]", rows))
    assert (found[0], "a gap of 259260 s before line 12" in found[1]) == ("doubtful", True)


def test_a_hole_of_four_steps_is_a_gap(tmp_path: Path) -> None:
    """50 A over a hole of 2400 s in rows of 600 s are 33 Ah that nobody saw."""
    seconds = [*range(0, 6001, 600), *range(8400, 12_001, 600)]
    csv = table("time [s],current [A],voltage [V]", [(t, -50, 52 - t / 1e5) for t in seconds])
    found = tried(tmp_path, "charge >= 100 Ah", csv)
    assert (found[0], "a gap of 2400 s before line 13" in found[1]) == ("doubtful", True)


def test_what_was_bridged_is_counted(tmp_path: Path) -> None:
    seconds = [*range(0, 1001, 10), *(1014 + 10 * k for k in range(100))]
    csv = table("time [s],current [A],voltage [V]", [(t, -50, 52 - t / 1e4) for t in seconds])
    workspace = judged(tmp_path, "series discharge charge >= 20 Ah", "series discharge trial-1.csv", csv)
    assert verdict(workspace)[0] == "pass"
    assert "0.7 % of the time bridged between rows up to 1.5 steps apart" in basis(workspace)


HEAT = "time [s],current [A],voltage [V],"


@pytest.mark.parametrize(
    ("header", "warmth", "wanted"),
    [
        ("cell 1 temp [C],cell 2 temp [C],cell 3 temp [C],cell 4 temp [C]", (30, 30, 30, 61), "over"),
        ("temp 1 [C],temp 2 [C],temp 3 [C],temp 4 [C]", (30, 30, 30, 61), "over"),
        ("temp 1 [C],temp 2 [C],temp 3 [C],temp 4 [C]", (30, 30, 30, 44), "pass"),
        ("temperature [C],cell 1 temp [C]", (30, 61), "over"),
        ("ambient temperature [C]", (20,), "doubtful"),
        ("room temperature [C],battery temperature [C]", (50, 30), "pass"),
    ],
)
def test_the_hottest_of_all_columns_counts(
    tmp_path: Path, header: str, warmth: tuple[int, ...], wanted: str
) -> None:
    csv = table(HEAT + header, [(10 * k, -50, 52 - k / 100, *warmth) for k in range(20)])
    workspace = judged(
        tmp_path, "series discharge temperature <= 45 degC", "series discharge trial-1.csv", csv
    )
    assert verdict(workspace)[0] == wanted
    if wanted == "over":
        assert all(f"`{name}`" in basis(workspace) for name in header.split(","))


def test_a_temperature_that_is_hardly_logged_is_doubtful(tmp_path: Path) -> None:
    """211 of 222 cells of a column empty."""
    rows = [(10 * k, -50, 52 - k / 100, 30 if k % 20 == 0 else "") for k in range(222)]
    found = tried(tmp_path, "temperature <= 45 degC", table(HEAT + "temp [C]", rows))
    assert (found[0], "is empty in 95 % of the rows" in found[1]) == ("doubtful", True)


def test_a_voltage_that_is_not_logged_leaves_the_energy_open(tmp_path: Path) -> None:
    rows = [(10 * k, -50, 52 - k / 100 if not 50 < k < 90 else "") for k in range(222)]
    found = tried(tmp_path, "energy <= 1.4 kWh", table("time [s],current [A],voltage [V]", rows))
    assert (found[0], "the column `voltage [V]` is empty in lines 53 to 91" in found[1]) == ("doubtful", True)


def test_a_least_current_is_no_peak(tmp_path: Path) -> None:
    """One row of 100 A in a discharge of 50 A."""
    rows = [(10 * k, -100 if k == 50 else -50, 52 - k / 100) for k in range(100)]
    found = tried(tmp_path, "current >= 90 A", table("time [s],current [A],voltage [V]", rows))
    assert (found[0], "mean discharge current over the run" in found[1]) == ("under", True)


@pytest.mark.parametrize(
    ("day", "wanted"),
    [
        ("2026-03-02", "pass"),
        ("2026-03-03", "pass"),
        ("2026-03-01", "pass"),
        ("2026-02-27", "doubtful"),
        ("2026-03-05", "doubtful"),
        ("2025-03-02", "doubtful"),
    ],
)
def test_a_trial_of_another_day_is_no_evidence(tmp_path: Path, day: str, wanted: str) -> None:
    rows = [(f"{day} 10:{k // 6:02}:{k % 6 * 10:02}", -50, 52 - k / 100) for k in range(200)]
    found = tried(tmp_path, "charge >= 20 Ah", table("time,current [A],voltage [V]", rows))
    assert found[0] == wanted
    if wanted == "doubtful":
        assert f"trial-1.csv was logged on {day}, its entry stands on 2026-03-02" in found[1]


def test_the_basis_names_what_the_sums_are_made_of(tmp_path: Path) -> None:
    entry = "series discharge trial-1.csv"
    of_counters = judged(tmp_path, "series discharge energy >= 1 kWh", entry, counted(EVEN))
    assert "rises of the logger's own counters `energy [kWh]`" in basis(of_counters)
    assert "its times carry no date" in basis(of_counters)
    both = table("time [s],power [kW],energy [kWh]", [(60 * k, 5, k / 12) for k in range(60)])
    of_power = judged(tmp_path, "series discharge energy >= 1 kWh", entry, both)
    assert "trapezoids between 60 rows of `power [kW]`" in basis(of_power)
    assert "not used: the counters `energy [kWh]`" in basis(of_power)

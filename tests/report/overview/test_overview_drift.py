"""Readings that moved towards their limit between two visits; by hand, common practice, no source."""

from pathlib import Path

import pytest

from sitelog.report.handover.document import PageTable
from tests.report.overview.fleets import DONE, facts, log, section

LATER = "visit service\nday 2026-11-24\n08:00 use M1\n"


def drifted(folder: Path) -> list[tuple[str, ...]]:
    parts = section(facts(folder), "drift").parts
    return [
        tuple(cell.text for cell in row) for part in parts if isinstance(part, PageTable) for row in part.rows
    ]


@pytest.mark.parametrize(
    ("later", "used"),
    [
        # From 200 MΩ to 1 MΩ there is a distance of 199 MΩ.
        ("reading insulation dc-pos/earth 100.5 MΩ at 500 V", "△ 50 %"),
        ("reading insulation dc-pos/earth 150.25 MΩ at 500 V", "△ 25 %"),
        ("reading insulation dc-pos/earth 151 MΩ at 500 V", ""),  # 24.6 %: under a quarter
        ("reading insulation dc-pos/earth 250 MΩ at 500 V", ""),  # away from its limit
        ("reading insulation dc-pos/earth >150 MΩ at 500 V", ""),  # nothing is known to be gone
        ("reading insulation dc-pos/earth 0.5 MΩ at 500 V", "✗ 100 %"),
        # From 0.12 to 1 ohm there is a distance of 0.88 ohm.
        ("reading continuity frame/earth 0.56 ohm", "△ 50 %"),
        ("reading continuity frame/earth 0.05 ohm", ""),
        ("reading continuity frame/earth 1.88 ohm", "✗ 200 %"),
    ],
)
def test_the_share_of_the_distance_that_is_gone(tmp_path: Path, later: str, used: str):
    log(tmp_path, "a-1", f"{DONE}{LATER}08:10 {later}\n")
    found = drifted(tmp_path)
    assert [row[-2] for row in found] == [used] * bool(used)
    if found:
        assert (found[0][0], found[0][4], found[0][6]) == ("a-1", "2026-11-20", "2026-11-24")


def test_what_was_beyond_the_scale_lost_at_least_so_much(tmp_path: Path):
    """(999 - 500) / (999 - 1) is 50 %; more was there, so more is gone."""
    log(
        tmp_path,
        "a-1",
        f"{DONE.replace('200 MΩ', '>999 MΩ')}{LATER}08:10 reading insulation dc-pos/earth 500 MΩ at 500 V\n",
    )
    assert [row[-2] for row in drifted(tmp_path)] == ["△ over 50 %"]


def test_insulation_of_a_warm_day_is_compared_at_one_temperature(tmp_path: Path):
    """100 MΩ at 30 °C is 200 MΩ at 20 °C: nothing has changed. 50 MΩ at 30 °C is 100 MΩ."""
    cold = DONE.replace("200 MΩ at 500 V", "200 MΩ at 500 V, 20 degC")
    log(tmp_path, "a-same", f"{cold}{LATER}08:10 reading insulation dc-pos/earth 100 MΩ at 500 V, 30 degC\n")
    log(tmp_path, "b-less", f"{cold}{LATER}08:10 reading insulation dc-pos/earth 50 MΩ at 500 V, 30 degC\n")
    found = drifted(tmp_path)
    assert [(row[0], row[-1]) for row in found] == [("b-less", "at 20 °C")]
    assert found[0][5] == "200 MΩ"
    assert found[0][7] == "100 MΩ"


def test_done_again_on_the_same_day_is_no_drift(tmp_path: Path):
    log(tmp_path, "a-1", f"{DONE}08:50 reading insulation dc-pos/earth 20 MΩ at 500 V\n")
    assert drifted(tmp_path) == []


def test_those_that_moved_most_come_first(tmp_path: Path):
    for name, value in (("a-1", 100), ("b-1", 20), ("c-1", 60)):
        log(tmp_path, name, f"{DONE}{LATER}08:10 reading insulation dc-pos/earth {value} MΩ at 500 V\n")
    assert [row[0] for row in drifted(tmp_path)] == ["b-1", "c-1", "a-1"]

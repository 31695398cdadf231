"""Stages and the summary of a site: what is counted, and what waits for what."""

from pathlib import Path

import pytest

from tests.judge.cases import judged

ASKS = """\
look wall
step delivery
step power-on after delivery, wall
joint term-1..2 4 Nm +-10 %
reading voltage L/N 207..253 V
dead L/N <= 25 V
stage site: wall, delivery
stage power: power-on
"""


@pytest.mark.parametrize(
    ("log", "state", "blocked_by"),
    [
        ("note nothing yet\n", "blocked", ("delivery", "wall")),
        ("look wall ok\n", "blocked", ("delivery",)),
        ("look wall ok\ndid delivery\n", "open", ()),
        ("look wall ok\ndid delivery\ndid power-on\n", "complete", ()),
    ],
)
def test_a_stage_is_blocked_by_what_another_still_owes(
    tmp_path: Path, log: str, state: str, blocked_by: tuple[str, ...]
) -> None:
    """Only what is open blocks; what is done lets the stage be open."""
    (site,) = judged({"asks": ASKS, "log": log}, tmp_path).judged
    power = next(stage for stage in site.stages if stage.name == "power")
    assert (power.state, power.blocked_by) == (state, blocked_by)


def test_the_summary_counts_joints_and_readings_apart(tmp_path: Path) -> None:
    """Two joints of which one is under; two readings (one of them the proof of being dead), both missing."""
    (site,) = judged({"asks": ASKS, "log": "torque term-1..2 4 3 Nm\n"}, tmp_path).judged
    summary = site.summary
    assert (summary.joints, summary.joints_under) == (2, 1)
    assert (summary.readings, summary.readings_failing) == (2, 0)

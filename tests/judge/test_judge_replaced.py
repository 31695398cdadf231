"""What stands in place of what: asked for as `entries replaced`."""

from pathlib import Path

import pytest

from sitelog.asking.store.answer import answer
from sitelog.fleet.workspace import rows
from tests.judge.cases import TODAY, judged

ASKS = """joint bracket-1 12 Nm +-10 % every 12 months
reading insulation a/b >= 1 MΩ at 500 V
reading rcd-time rcd1 <= 300 ms at 30 mA
reading rcd-time rcd1 <= 40 ms at 5 x 30 mA
"""


@pytest.mark.parametrize(
    ("log", "replaced"),
    [
        ("torque bracket-1 9 Nm\ntorque bracket-1 12 Nm\n", ["torque bracket-1 9 Nm"]),
        ("torque bracket-1 pre 4 Nm\ntorque bracket-1 12 Nm\n", []),  # pre-tightening is no rework
        ("torque bracket-1 12 Nm\ntorque bracket-1 held 11 Nm\n", []),
        ("torque bracket-1 9 Nm\nstrike torque bracket-1 -- misread\ntorque bracket-1 12 Nm\n", []),
        # Conditions belong to the measurement.
        ("reading rcd-time rcd1 24 ms at 30 mA\nreading rcd-time rcd1 14 ms at 5 x 30 mA\n", []),
        ("reading insulation a/b 9 MΩ at 250 V\nreading insulation a/b 9 MΩ at 500 V\n", []),
        (
            "reading insulation a/b 8 MΩ at 500 V\nreading insulation b/a 9 MΩ at 500 V\n",
            ["reading insulation a/b 8 MΩ at 500 V"],
        ),
        # One row for each thing asked: the newest counts, over all visits.
        (
            "torque bracket-1 12 Nm\nvisit service\nday 2027-06-01\ntorque bracket-1 12 Nm with TW3\n",
            ["torque bracket-1 12 Nm"],
        ),
    ],
)
def test_entries_replaced(tmp_path: Path, log: str, replaced: list[str]) -> None:
    workspace = judged({"asks": ASKS, "log": log}, tmp_path)
    found = answer("entries replaced show entry", rows(workspace), TODAY)
    assert [row.cells[0] for row in found.rows] == replaced

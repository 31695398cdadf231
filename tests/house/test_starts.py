"""Starting again: what one start keeps for the next never changes an answer."""

import os
import subprocess
import sys
from pathlib import Path

CHECKOUT = Path(__file__).parents[2]
STARTS = 3  # without anything kept, with the tables kept, with the plans kept


def test_later_starts_say_what_the_first_said(tmp_path):
    environment = os.environ | {"SITELOG_CACHE": str(tmp_path / "kept"), "PYTHONPATH": str(CHECKOUT)}
    command = [sys.executable, "-m", "sitelog", "check", "example_logs", "--today", "2026-11-25"]
    starts = [
        subprocess.run(command, cwd=CHECKOUT, env=environment, capture_output=True, text=True)
        for _ in range(STARTS)
    ]
    assert any((tmp_path / "kept").iterdir())
    assert [(start.returncode, start.stderr) for start in starts] == [(1, "")] * STARTS
    assert len({start.stdout for start in starts}) == 1

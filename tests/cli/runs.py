"""The command run in processes of its own, each of which orders its sets in another way."""

import os
import subprocess
import sys
from pathlib import Path

CHECKOUT = Path(__file__).parents[2]


def output_by_hash_seed(*arguments: str, cache: Path) -> list[str]:
    """What the command prints in this folder, with two different seeds of Python's hashes of texts."""
    found: list[str] = []
    for seed in ("1", "2"):
        environment = os.environ | {
            "PYTHONHASHSEED": seed,
            "PYTHONPATH": str(CHECKOUT),
            "SITELOG_CACHE": str(cache),
        }
        command = [sys.executable, "-m", "sitelog", *arguments]
        done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
        assert (done.returncode in (0, 1), done.stderr) == (True, "")
        found.append(done.stdout)
    return found

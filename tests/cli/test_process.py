"""The process of the command ends at once, and yet as a process of Python ends."""

import subprocess
import sys
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parents[2]
CODE = """
import atexit
from sitelog import __main__ as process

class Slow:
    def __del__(self):
        print("taken apart")

def main():
    global held
    held = Slow()
    atexit.register(print, "said by a library at the end")
    print("said by the command")
    {ending}

process.main = main
process.run()
"""


@pytest.mark.parametrize(
    ("ending", "status"), [("return 0", 0), ("return 2", 2), ("raise ValueError('a fault')", 1)]
)
def test_libraries_end_and_nothing_is_taken_apart(ending: str, status: int) -> None:
    command = [sys.executable, "-c", CODE.format(ending=ending)]
    done = subprocess.run(command, cwd=CHECKOUT, capture_output=True, text=True, check=False)
    assert done.stdout.splitlines() == ["said by the command", "said by a library at the end"]
    assert done.returncode == status
    assert ("ValueError: a fault" in done.stderr) == (status == 1)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_what_cannot_be_written_is_no_success() -> None:
    with open("/dev/full", "w") as full:
        command = [sys.executable, "-c", CODE.format(ending="return 0")]
        done = subprocess.run(command, cwd=CHECKOUT, stdout=full, stderr=subprocess.DEVNULL, check=False)
    assert done.returncode == 1

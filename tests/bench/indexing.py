"""A fleet asked through its index: made anew, as it stands, after one change; beside Lark, grep and git."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from statistics import median
from time import perf_counter, process_time

from sitelog.language.syntax import parse_line, use_cache
from tests.bench.fleet import logs, write
from tests.syntax.plainly import reading_plainly

_ROOT = Path(__file__).parents[2]
_TURNS = 7
_PLAIN_LINES = 5_000  # Lark's speed does not change with their number
_AS_INSTALLED = "from sitelog.__main__ import run; run()"  # what the installed script does
_UNDER = "joints under torque"
_BELOW = "readings insulation below 100 Mohm"


def measure(lines: int) -> None:
    """Print what the index costs and saves."""
    with tempfile.TemporaryDirectory() as scratch:
        fleet = Path(scratch) / "fleet"
        fleet.mkdir()
        files = write(fleet, lines)
        environment = os.environ | {
            "SITELOG_CACHE": f"{scratch}/cache",
            "PYTHONPATH": str(_ROOT),
            "PYTHONPYCACHEPREFIX": f"{scratch}/compiled",
            "PYTHONDONTWRITEBYTECODE": "",
        }

        def ask(question: str, *more: str) -> float:
            command = [sys.executable, "-c", _AS_INSTALLED, "ask", question, str(fleet), *more]
            return _seconds([*command, "--today", "2026-12-31"], environment, fleet)

        print(f"  {lines} lines in {files} logs")
        ask(_UNDER, "--fields", "joints")  # compiles the modules
        plain = lines / _plain_rate()
        _row("plain Lark, the lines read only, one process (aim: 1)", plain, plain)
        start = perf_counter()
        spent = ask(_UNDER)
        wall = perf_counter() - start
        _row("made anew: all read, judged and kept (of the processors)", spent, plain)
        _row("the same by the wall (aim: 0.33; of an idle machine only)", wall, plain)
        time.sleep(2.5)  # so that no file is as new as the index
        ask(_UNDER)
        size = sum(path.stat().st_size for path in Path(scratch, "cache").glob("*.index"))
        print(
            f"    (it takes {size / 1e6:.0f} MB; times from here on: medians of {_TURNS}, beside the search;"
            " aims: a filter 0.5, `under torque` 1.5, one file changed five times `git status`)"
        )
        _git(fleet, "init", "-q")
        _git(fleet, "add", ".")
        _git(fleet, "-c", "user.name=a", "-c", "user.email=a", "commit", "-q", "-m", "all")
        search = _search()
        found: dict[str, list[float]] = {}
        for turn in range(_TURNS):
            with (fleet / "site-00001.site").open("a", encoding="utf-8") as stream:
                stream.write(f"18:00 note turn {turn}\n")
            ways = {
                "git status, one file changed": lambda: _seconds(["git", "status", "-s"], environment, fleet),
                "asked, one file changed": lambda: ask(_UNDER),
                f"asked again: {_UNDER}": lambda: ask(_UNDER),
                f"asked again: {_BELOW}": lambda: ask(_BELOW),
                f"{search[0]} for `insulation` and a number": lambda: _seconds(search, environment, fleet),
                "python alone": lambda: _seconds([sys.executable, "-c", "pass"], environment, fleet),
            }
            for name, way in ways.items():
                found.setdefault(name, []).append(way())
        beside = median(found[f"{search[0]} for `insulation` and a number"])
        for name, times in found.items():
            _row(name, median(times), beside)
        git = median(found["git status, one file changed"])
        one = median(found["asked, one file changed"])
        print(f"    (one file changed: {one / git:.1f} times `git status`)")


def _search() -> list[str]:
    """The search that is at hand: it finds lines, and knows neither units nor what was replaced."""
    pattern = "insulation .* [0-9]{1,2} MΩ"
    return ["rg", "-e", pattern, "."] if shutil.which("rg") else ["grep", "-rE", pattern, "."]


def _plain_rate() -> float:
    use_cache("")
    sample = [line for log in logs(_PLAIN_LINES) for line in log if line]
    with reading_plainly():
        parse_line("log", sample[0], 1)  # makes the tables, which is nobody's time
        start = process_time()
        for number, line in enumerate(sample, 1):
            parse_line("log", line, number)
        return len(sample) / (process_time() - start)


def _git(folder: Path, *words: str) -> None:
    subprocess.run(["git", *words], cwd=folder, check=True, capture_output=True)


def _row(name: str, seconds: float, beside: float) -> None:
    print(f"    {name:<60} {seconds:>8.3f}  {seconds / beside:>6.2f}")


def _seconds(command: Sequence[str], environment: dict[str, str], folder: Path) -> float:
    """User and system time of a process that ends with 0 or 1."""
    before = getrusage(RUSAGE_CHILDREN)
    done = subprocess.run(
        command, env=environment, cwd=folder, capture_output=True, text=True, check=False, encoding="utf-8"
    )
    after = getrusage(RUSAGE_CHILDREN)
    if done.returncode not in (0, 1) or "Traceback" in done.stderr:
        raise subprocess.CalledProcessError(done.returncode, command, done.stdout, done.stderr)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime

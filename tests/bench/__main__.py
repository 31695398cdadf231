"""`python -m tests.bench [LINES]`: how fast lines are read and checked and a check starts, beside other ways.

All figures of one run come from one machine in one state; only the ratios mean something elsewhere.
Times are the process's own (user and system), so that a busy machine disturbs them little.
"""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from statistics import median
from time import process_time

from sitelog.language.syntax import parse_line, save_plans, use_cache
from tests.bench import indexing, pages
from tests.bench.fleet import logs, write
from tests.bench.whole import checks, records
from tests.syntax.plainly import reading_plainly

_ROOT = Path(__file__).parents[2]
_STARTS = 10
_PLAIN_LINES = 10_000  # enough to know Lark's speed, which does not change with the number of lines


def main(arguments: Sequence[str]) -> None:
    """Print everything."""
    gc.disable()  # as the command does
    lines = int(arguments[0]) if arguments else 100_000
    print(f"text to entry, {lines} made-up lines (lines a second; times plain Lark)")
    for name, faulty in (("all lines right", 0), ("one line in ten faulty", 10)):
        fleet = [line for log in logs(lines, faulty=faulty) for line in log if line]
        records(lines, faulty, _reading(name, fleet))
    print("start of a process (ms; share of importing lark)")
    _starting()
    print("a fleet in an index (s of the processor)")
    indexing.measure(lines)
    checks(lines)
    pages.measure(min(lines, 45_000))


def _reading(name: str, fleet: Sequence[str]) -> float:
    use_cache("")
    _rate(fleet[:100])  # makes the tables, which is nobody's time
    with reading_plainly():
        plain = max(_rate(fleet[:_PLAIN_LINES]) for _ in range(2))
    with tempfile.TemporaryDirectory() as folder:
        use_cache(folder)
        cold = _rate(fleet)
        save_plans()
        use_cache(folder)
        kept = _rate(fleet)
        warm = max(_rate(fleet) for _ in range(2))
        size = (Path(folder) / "log.plans").stat().st_size
        use_cache("")
    print(f"  {name}")
    _row("plain Lark", plain, plain)
    _row("plans, none known yet", cold, plain)
    _row("plans kept from another run", kept, plain)
    _row("plans, all in memory", warm, plain)
    print(f"    (plans kept: {size / 1000:.0f} kB)")
    return plain


def _row(name: str, rate: float, plain: float) -> None:
    print(f"    {name:<30} {rate:>9.0f}  {rate / plain:>5.1f}")


def _rate(lines: Iterable[str]) -> float:
    """Lines a second."""
    number = 0
    start = process_time()
    for number, line in enumerate(lines, 1):
        parse_line("log", line, number)
    return number / (process_time() - start)


def _starting() -> None:
    with tempfile.TemporaryDirectory() as folder:
        fleet = Path(folder) / "fleet"  # apart from what is compiled and kept, which is no part of it
        fleet.mkdir()
        write(fleet, 40)
        environment = os.environ | {
            "SITELOG_CACHE": f"{folder}/cache",
            "PYTHONPATH": str(_ROOT),
            "PYTHONPYCACHEPREFIX": f"{folder}/compiled",  # so that all are compiled alike, and once
            "PYTHONDONTWRITEBYTECODE": "",
        }

        def run(*command: str) -> Callable[[], float]:
            return lambda: _seconds([sys.executable, *command], environment)

        ways = {
            "python alone": run("-c", "pass"),
            "import lark": run("-c", "import lark"),
            "import lark and pint, make a registry": run("-c", "import lark, pint; pint.UnitRegistry()"),
            "sitelog check, a log read before": run(
                "-m", "sitelog", "check", "--today", "2026-12-31", str(fleet)
            ),
        }
        times: dict[str, list[float]] = {name: [] for name in ways}
        for _ in range(_STARTS):  # in turns, so that what else the machine does falls on all alike
            for name, way in list(ways.items()):
                try:
                    times[name].append(way())
                except subprocess.CalledProcessError as error:
                    print(f"    ({name}: ended with {error.returncode}: {error.stderr.strip()[-80:]!r})")
                    del ways[name]
        lark = median(times["import lark"])
        for name, found in times.items():
            if len(found) == _STARTS:  # the first is left out: it makes what the others find
                _start_row(name, median(found[1:]), lark)
        if checks := times["sitelog check, a log read before"]:
            _start_row("sitelog check, the very first time", checks[0], lark)


def _start_row(name: str, seconds: float, lark: float) -> None:
    print(f"    {name:<40} {seconds * 1000:>6.0f}  {seconds / lark:>5.2f}")


def _seconds(command: Sequence[str], environment: dict[str, str]) -> float:
    """User and system time of a process that ends with 0, or 1 (findings)."""
    before = getrusage(RUSAGE_CHILDREN)  # `os.times` counts in hundredths of a second
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    after = getrusage(RUSAGE_CHILDREN)
    if done.returncode not in (0, 1) or "Traceback" in done.stderr:
        raise subprocess.CalledProcessError(done.returncode, command, done.stdout, done.stderr)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


if __name__ == "__main__":
    main(sys.argv[1:])

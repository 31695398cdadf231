"""Speed behind the parser: text to records, and the whole command `check` on folders of growing size."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from itertools import pairwise
from math import log
from pathlib import Path
from time import process_time
from typing import NamedTuple

from sitelog.files.records import read_log
from sitelog.files.records.repeats import forget
from sitelog.files.source import from_bytes
from sitelog.language.syntax import use_cache
from tests.bench.fleet import logs, write

ROOT = Path(__file__).parents[2]
_PLAIN = """
import glob, sys
from lark.exceptions import UnexpectedInput
from sitelog.language.syntax import parser
parser.use_cache(sys.argv[2])
parse = parser.lark("log").parse
for path in glob.glob(sys.argv[1] + "/*.site"):
    for line in open(path, encoding="utf-8").read().split("\\n"):
        try:
            line and parse(line)
        except UnexpectedInput:
            pass
"""


# Starts the process measured: from a small one, for at first a process counts its parent's memory as its own.
_START = """
import os, sys, time
if sys.argv[1] and hasattr(os, "sched_getaffinity"):
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
nowhere = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
start = time.perf_counter()
pid = os.posix_spawn(sys.argv[2], sys.argv[2:], os.environ, file_actions=nowhere)
_, status, usage = os.wait4(pid, 0)
wall = time.perf_counter() - start
print(os.waitstatus_to_exitcode(status), wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss)
"""


class Spent(NamedTuple):
    """What a process and those it started took: seconds by the wall and of the processors, and megabytes."""

    wall: float
    cpu: float
    memory: float


def records(lines: int, faulty: int, lark: float) -> None:
    """Text to records: lines a second, and how often that of plain Lark, in lines a second."""
    texts = [("\n".join(log_), len(log_)) for log_ in logs(lines, faulty=faulty)]
    sources = [from_bytes(text.encode(), f"{at}.site") for at, (text, _) in enumerate(texts)]
    count = sum(number for _, number in texts)
    use_cache("")
    forget()
    for name in ("nothing known yet", "what repeats known"):
        start = process_time()
        for source in sources:
            read_log(source)
        rate = count / (process_time() - start)
        print(f"    text to records, {name:<22} {rate:>9.0f}  {rate / lark:>5.1f}")


def checks(most: int) -> None:
    """The command on 10 000 lines and ten times as many, up to `most`, beside Lark's parsing alone."""
    sizes = [10_000]
    while sizes[-1] * 10 <= most:
        sizes.append(sizes[-1] * 10)
    print("whole check of a folder (seconds by the wall and of processors, MB; times Lark's parsing alone)")
    found: list[tuple[int, Spent]] = []
    for size in sizes:
        with tempfile.TemporaryDirectory() as home, tempfile.TemporaryDirectory() as folder:
            _known(home)
            logs_ = write(Path(folder), size)
            print(f"  {size} lines, {logs_} logs")
            # Lark's time grows with the lines; a tenth of a large fleet tells it.
            with tempfile.TemporaryDirectory() as smaller:
                share = min(size, 10_000)
                write(Path(smaller), share)
                alone = spent(["-c", _PLAIN, smaller, f"{home}/cache"], home)
            times = size / share
            lark = Spent(alone.wall * times, alone.cpu * times, alone.memory)
            _row("Lark's parsing alone", lark, lark)
            check = ["-m", "sitelog", "check", "--today", "2026-12-31", folder]
            every = spent(check, home)
            found.append((size, every))
            one = spent(check, home, single=True)
            _row("check, one processor", one, lark)
            _row(f"check, {_processors()} processors", every, lark)
    for (small, one), (large, other) in pairwise(found):
        power = log(other.cpu / one.cpu) / log(large / small)
        print(f"  time grows with the power {power:.2f} of the lines from {small} to {large}")


def _known(home: str) -> None:
    """A first run, which compiles the code and the grammar and reads one log; nobody's time."""
    with tempfile.TemporaryDirectory() as folder:
        write(Path(folder), 40)
        spent(["-m", "sitelog", "check", "--today", "2026-12-31", folder], home)


def _row(name: str, spent: Spent, lark: Spent) -> None:
    wall, cpu = lark.wall / spent.wall, lark.cpu / spent.cpu
    print(
        f"    {name:<30} {spent.wall:>7.2f} {spent.cpu:>7.2f} {spent.memory:>5.0f}"
        f"   {wall:>5.1f} by the wall, {cpu:>5.1f} of processors"
    )


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def spent(arguments: Sequence[str], home: str, single: bool = False) -> Spent:
    """Run Python with these arguments, on one processor if wanted."""
    environment = os.environ | {
        "SITELOG_CACHE": f"{home}/cache",
        "PYTHONPATH": str(ROOT),
        "PYTHONPYCACHEPREFIX": f"{home}/compiled",
        "PYTHONDONTWRITEBYTECODE": "",
    }
    started = subprocess.run(
        [sys.executable, "-c", _START, "1" if single else "", sys.executable, *arguments],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    status, wall, cpu, memory = started.stdout.split()
    if int(status) not in (0, 1):
        raise ChildProcessError(f"{arguments[:3]} ended with {status}")
    return Spent(float(wall), float(cpu), float(memory) / (1e6 if sys.platform == "darwin" else 1e3))

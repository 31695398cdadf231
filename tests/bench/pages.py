"""The overview of a fleet: from nothing kept, from the index, and with the handover page of every site."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.bench.fleet import write
from tests.bench.whole import spent


def measure(lines: int) -> None:
    """Print what one page of a fleet takes beside asking one question, in seconds and MB."""
    print("overview of a fleet (seconds by the wall and of processors, MB; times one question asked)")
    with tempfile.TemporaryDirectory() as home, tempfile.TemporaryDirectory() as folder:
        fleet = Path(folder) / "fleet"
        fleet.mkdir()
        sites = write(fleet, lines)
        print(f"  {lines} lines, {sites} sites")
        day = ["--today", "2026-12-31"]
        page = ["-m", "sitelog", "overview", str(fleet), "-o", f"{folder}/overview.html", *day]
        question = ["-m", "sitelog", "ask", "joints under torque", str(fleet), *day]
        small = ["-m", "sitelog", "overview", str(Path(__file__).parents[2] / "example_logs"), *day]
        spent(small, home)  # compiles the modules, which is nobody's time
        first = spent(page, home)
        spent(question, home)
        asked = spent(question, home)
        ways = {
            "a question, from the index": asked,
            "overview, nothing kept": first,
            "overview, from the index": spent(page, home),
            "overview with every handover": spent([*page, "--handovers"], home),
        }
        for name, took in ways.items():
            print(
                f"    {name:<30} {took.wall:>7.2f} {took.cpu:>7.2f} {took.memory:>5.0f}"
                f"  {took.cpu / asked.cpu:>6.1f}"
            )

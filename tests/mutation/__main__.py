"""`python -m tests.mutation [--module PATH] [--most N] [--seconds N] [--seed S]`: faults that no test sees.

Each mutant is one small fault in the judge or the physics. A mutant that passes every test that runs its line
has survived: a case is missing, or the fault makes no difference, which README.md then says beside it.
"""

import argparse
import os
import random
import re
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.mutation.mutants import Mutant, mutants_of, tree_of
from tests.mutation.running import ROOMS, ROOT, SURVIVED, Coverage, coverage_of, verdict, warm_up

README = Path(__file__).with_name("README.md")
_LISTED = re.compile(r"^- `(\S+\.py)` (`.+` → `.+`): ", re.MULTILINE)


def listed() -> set[tuple[str, str]]:
    """The survivors that README.md gives a reason for: file and change."""
    return set(_LISTED.findall(README.read_text(encoding="utf-8")))


def mutants(modules: str) -> Iterator[tuple[str, Mutant]]:
    """Every mutant of the files whose path holds a word, with its file."""
    for room in ROOMS:
        for path in sorted((ROOT / room).rglob("*.py")):
            name = path.relative_to(ROOT).as_posix()
            if modules in name:
                yield from ((name, mutant) for mutant in mutants_of(path.read_text(encoding="utf-8")))


def _tests(coverage: Coverage, path: str, mutant: Mutant) -> list[str]:
    """A line that is run when its module is loaded is seen by all that run any line of the file."""
    if mutant.function == "module" or mutant.function[0].isupper():
        lines = sorted(line for name, line in coverage.tests if name == path)
    else:
        lines = [mutant.line]
    return coverage.seeing(path, lines)


def main() -> int:
    """Run a sample, print what survives, and give 1 where a survivor is not listed."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument(
        "--module", default="", help="only files whose path holds this, such as judging/order"
    )
    parser.add_argument("--most", type=int, default=300, help="how many mutants, drawn by lot (default 300)")
    parser.add_argument("--seconds", type=float, default=1800, help="start no mutant after so long")
    parser.add_argument("--seed", type=int, default=1, help="another seed draws other mutants")
    arguments = parser.parse_args()
    os.chdir(ROOT)
    warm_up()
    begun = time.monotonic()
    every = list(mutants(arguments.module))
    for path, change in sorted(listed() - {(path, mutant.change) for path, mutant in every}):
        if arguments.module in path:
            print(f"listed, but no longer there: `{path}` {change}")
    drawn = random.Random(arguments.seed).sample(every, min(arguments.most, len(every)))
    print(f"{len(drawn)} of {len(every)} mutants; first the tests on the code as it stands", flush=True)
    coverage = coverage_of()
    print(f"{len(coverage.seconds)} tests in {time.monotonic() - begun:.0f} s", flush=True)
    known, counts = listed(), Counter[str]()
    for path, mutant in drawn:
        if time.monotonic() - begun > arguments.seconds:
            break
        if (path, mutant.change) in known:
            counts["listed"] += 1
            continue
        tests = _tests(coverage, path, mutant)
        found = verdict(
            path,
            tree_of((ROOT / path).read_text(encoding="utf-8"), mutant),
            tests,
            sum(coverage.seconds[test] for test in tests),
        )
        counts[found] += 1
        if found == SURVIVED:
            print(f"- `{path}` {mutant.change}: line {mutant.line}, {len(tests)} tests", flush=True)
    tried = counts.total()
    share = 100 * (counts[SURVIVED] + counts["listed"]) / max(tried, 1)
    print(f"{tried} mutants in {time.monotonic() - begun:.0f} s: {dict(counts)}; {share:.1f} % live")
    return 1 if counts[SURVIVED] else 0


if __name__ == "__main__":
    sys.exit(main())

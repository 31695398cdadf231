"""`python -m tests.mutants [MUTANTS] [--seed N] [--show CLASS]`: a campaign, as a table class by class."""

import argparse
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from os import cpu_count

from tabulate import tabulate

from tests.mutants.campaign import Mutant, run


def main() -> int:
    """Run a campaign; 1 where a mutant was silent and its class is not listed as one that may be."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("mutants", type=int, nargs="?", default=10_000, help="how many (10 000)")
    parser.add_argument("--seed", type=int, default=1, help="the same seed makes the same mutants")
    parser.add_argument("--show", default="", help="print what one class changed and what was said of it")
    options = parser.parse_args()
    begun = time.monotonic()
    workers = cpu_count() or 1
    pieces = [
        (options.seed * 1_000_003 + piece, options.mutants // (workers * 8) or 1, options.show)
        for piece in range(workers * 8)
    ]
    found: list[Mutant] = []
    with ProcessPoolExecutor(workers) as pool:
        for some in pool.map(run, *zip(*pieces, strict=True)):
            found += some
    return report(found, time.monotonic() - begun, options.show)


def report(mutants: list[Mutant], seconds: float, show: str) -> int:
    """Print the table, and every mutant that nobody noticed."""
    rows = Counter((one.name, one.outcome) for one in mutants)
    names = list(dict.fromkeys(one.name for one in mutants))
    outcomes = ("error", "warning", "info", "verdict", "listed", "faulty", "silent", "better")
    table = [[name, *(rows[name, outcome] or "" for outcome in outcomes)] for name in sorted(names)]
    print(tabulate(table, headers=["class", *outcomes]))
    print(f"\n{len(mutants)} mutants in {seconds:.0f} s")
    if show:
        for one in mutants:
            print(one.what)
    bad = [one for one in mutants if one.outcome in ("silent", "better")]
    seen: Counter[str] = Counter()
    for one in bad:
        seen[one.name] += 1
        if seen[one.name] <= 3:
            print(f"\n{one.outcome}: {one.name} in {one.job}\n{one.what}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())

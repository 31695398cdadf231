"""A judged site is free at once: the commands pause the collector of circles, and a fleet has many sites."""

import gc
import os
import weakref
from datetime import date
from pathlib import Path

from sitelog.fleet.workspace import load

EXAMPLES = Path(__file__).parents[2] / "example_logs"


def test_a_judged_site_refers_to_nothing_that_refers_back() -> None:
    gc.collect()
    gc.disable()
    try:
        workspace = load([os.fspath(EXAMPLES)], date(2026, 11, 25))
        cases = [weakref.ref(site.case) for site in workspace.judged]
        assert cases
        del workspace
        assert [case() for case in cases] == [None] * len(cases)
    finally:
        gc.enable()

"""The handover pages of a whole fleet, written beside its overview, on every processor."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from datetime import date

from sitelog.base.processes import each
from sitelog.cli.edges import Progress, processors
from sitelog.fleet.workspace import load

FEW = 20
"""Pages; with fewer, starting processes takes longer than they save."""

_CHUNK = 4


def write_all(paths: Sequence[str], today: date, folder: str, names: Mapping[str, str]) -> None:
    """Write the page of every site under its name in a folder."""
    told = (tuple(paths), today, folder, dict(names))
    write = _writer(*told)
    chunks = [range(at, min(at + _CHUNK, len(names))) for at in range(0, len(names), _CHUNK)]
    several = processors() if len(names) >= FEW else 1
    with Progress("handover pages written") as progress:
        done = 0
        for number in each(write, write, chunks, several, _writer, told):
            done += number
            progress(done, len(names))


def _writer(
    paths: Sequence[str], today: date, folder: str, names: Mapping[str, str]
) -> Callable[[range], int]:
    """What writes the pages of some of the sites, by their numbers, and says how many they were."""
    from sitelog.cli.writing import put
    from sitelog.report.handover.page import page_of

    workspace = load(paths, today)

    def write(numbers: range) -> int:
        for site in workspace.judged[numbers.start : numbers.stop]:
            if site.name in names:  # one may have come since the names were made
                text = page_of(site, workspace.findings)
                put(os.path.join(folder, names[site.name]), text.encode())
        return len(numbers)

    return write

"""The handover pages of a whole fleet, written beside its overview, on every processor."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from datetime import date

from sitelog.base.processes import each
from sitelog.cli.edges import Progress, processors
from sitelog.fleet.workspace import load

FEW = 20
"""Pages; with fewer, starting processes takes longer than they save."""

_CHUNK = 4


def write_all(paths: Sequence[str], today: date, folder: str, names: Mapping[str, str]) -> None:
    """Write the page of every site under its name in a folder."""
    writer = _Writer(tuple(paths), today, folder, dict(names))
    chunks = [range(at, min(at + _CHUNK, len(names))) for at in range(0, len(names), _CHUNK)]
    several = processors() if len(names) >= FEW else 1
    with Progress("handover pages written") as progress:
        done = 0
        for number in each(writer, chunks, several):
            done += number
            progress(done, len(names))


class _Writer:
    """Writes the pages of some of the sites, by their numbers, and says how many they were."""

    def __init__(self, paths: Sequence[str], today: date, folder: str, names: Mapping[str, str]) -> None:
        self._given = paths, today, folder, names
        self._workspace = load(paths, today)

    def __reduce__(self) -> tuple[type[_Writer], tuple[object, ...]]:
        return _Writer, self._given

    def begin(self) -> None:
        """A process is ready as soon as it has its workspace."""

    def here(self, numbers: range) -> int:
        """Write the pages of these sites."""
        from sitelog.cli.writing import put
        from sitelog.report.handover.page import page_of

        _, _, folder, names = self._given
        for site in self._workspace.judged[numbers.start : numbers.stop]:
            if site.name in names:  # one may have come since the names were made
                text = page_of(site, self._workspace.findings)
                put(os.path.join(folder, names[site.name]), text.encode())
        return len(numbers)

    apart = here

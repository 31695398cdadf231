"""The handover pages of a whole fleet, written beside its overview, on every processor."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date

from sitelog.cli.edges import Progress, processors
from sitelog.workspace import Workspace, load

FEW = 20
"""Pages; with fewer, starting processes takes longer than they save."""

_CHUNK = 8


def write_all(paths: Sequence[str], today: date, folder: str, names: Mapping[str, str]) -> None:
    """Write the page of every site under its name in a folder."""
    workspace = load(paths, today)
    places = [os.path.join(folder, names[site.name]) for site in workspace.judged]
    with Progress("handover pages written") as progress, _collecting():
        for done, _ in enumerate(_each(workspace, places), 1):
            progress(done, len(places))


@contextmanager
def _collecting() -> Iterator[None]:
    """Pictures leave circles behind: they are collected here; what the sites are made of is left alone."""
    was = gc.isenabled()
    gc.freeze()
    gc.enable()
    try:
        yield
    finally:
        gc.unfreeze()
        if not was:
            gc.disable()


def _each(workspace: Workspace, places: Sequence[str]) -> Iterator[None]:
    """Write each, in a process forked from this one where there are many: it knows all sites already."""
    from multiprocessing import get_all_start_methods, get_context

    global _work
    _work = workspace, places
    several = min(processors(), len(places) // FEW + 1)
    if several < 2 or get_all_start_methods()[0] != "fork":
        yield from map(_write, range(len(places)))
        return
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(several, get_context("fork")) as pool:
        yield from pool.map(_write, range(len(places)), chunksize=_CHUNK)


_work: tuple[Workspace, Sequence[str]] | None = None


def _write(at: int) -> None:
    from sitelog.cli.writing import put
    from sitelog.report.handover.page import page_of

    assert _work is not None
    workspace, places = _work
    put(places[at], page_of(workspace.judged[at], workspace.findings).encode())

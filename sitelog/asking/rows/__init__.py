"""Results → the rows of each subject, as `subjects` has their columns. One function per subject."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sitelog.asking.rows import paper, work
from sitelog.asking.rows.common import Cells, RowTuple, row
from sitelog.asking.rows.history import history_of
from sitelog.asking.rows.tools import tool_row
from sitelog.judging.judged import Site

__all__ = ["history_of", "rows_of", "tool_row"]

_MAKERS: dict[str, Callable[[Site], Iterator[Cells]]] = {
    "joints": work.joints,
    "torques": work.torques,
    "readings": work.readings,
    "parts": work.parts,
    "holes": work.holes,
    "looks": work.looks,
    "cables": work.cables,
    "series": work.series,
    "steps": work.steps,
    "settings": work.settings,
    "defects": paper.defects,
    "stages": paper.stages,
    "signatures": paper.signatures,
    "visits": paper.visits,
    "photos": paper.photos,
    "entries": paper.entries,
    "sites": paper.sites,
}


def rows_of(site: Site) -> dict[str, list[RowTuple]]:
    """The rows of every subject for one site, but for the tools, which belong to no site."""
    return {name: [row(name, cells) for cells in make(site)] for name, make in _MAKERS.items()}

"""Many sites checked: some files at a time, on several processors, with the memory of those files.

The findings and figures are those of `workspace.load`, to the letter. Of each site only its findings, its
figures and the few facts are held that show something when all sites are seen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.findings.finding import Finding
from sitelog.fleet.many import LightSite, LogFile, SiteFacts, SitePipeline, discovered, facts_of, joined
from sitelog.fleet.site import JudgedSite
from sitelog.judging.judged import Summary
from sitelog.judging.placements import Placement
from sitelog.judging.result_findings import unique
from sitelog.judging.site import Observation
from sitelog.language.kinds.base import Head, Record
from sitelog.language.syntax.tokens import Entry

Progress = Callable[[int, int], None]
"""Called with how many of how many logs have been checked."""


class Checked(NamedTuple):
    """What there is to say about some paths."""

    findings: list[Finding]
    sites: list[Summary]
    readable: int


def check(
    paths: Iterable[str], today: date, processors: int = 1, progress: Progress | None = None
) -> Checked:
    """Check everything in the paths, on so many processors; never raises for what stands in a file."""
    found = discovered(paths)
    pipeline = SitePipeline(found.reach, today, _light_facts, held=found.held)
    files: list[LogFile] = []
    facts: dict[str, SiteFacts] = {}
    # A log that had to be read to know that it is one may be a pipe, which another process finds empty.
    for piece in pipeline.pieces([(file,) for file in found.logs], 1 if found.held else processors):
        files += piece.files
        facts |= piece.sites
        if progress is not None:
            progress(len(files), len(found.logs))
    everything = joined(found, files, tuple(facts.values()))
    readable = found.readable + sum(file.readable for file in files)
    return Checked(unique(everything.findings), [site.summary for site in everything.sites], readable)


def _light_facts(judged: JudgedSite) -> SiteFacts:
    site = judged.site
    placements = tuple([_light_placement(placement) for placement in site.placements])
    facts = facts_of(judged, LightSite(site.name, site.summary, site.findings, placements))
    return facts


# ---- what is held of a serial's time at a place --------------------------------------------------
def _light_placement(placement: Placement) -> Placement:
    until = _light(placement.until) if placement.until is not None else None
    return placement._replace(since=_light(placement.since), until=until)


def _light(obs: Observation) -> Observation:
    """An observation that says when and where it was written, and shows its line; nothing else of it."""
    entry = obs.record.head.entry
    head = Head(obs.file, Entry("", entry.number, entry.text), None, None, (), "", (0, 0))
    return obs._replace(value=None, second=None, conditions=(), record=Record(head), in_use=())

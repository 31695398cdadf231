"""Paths → everything that stands in them, judged and held whole: for what shows, asks or compares sites."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from sitelog.files.records import Kit
from sitelog.findings.finding import Finding
from sitelog.fleet.many import SiteFacts, SitePipeline, discovered, facts_of, joined
from sitelog.fleet.site import JudgedSite
from sitelog.judging.judged import Gap, Site, Summary
from sitelog.judging.result_findings import unique
from sitelog.judging.tool_uses import since_calibration, uses

Row = tuple[object, ...]


class Workspace:
    """What the paths hold: the sites, judged, and every finding in the order of files and lines."""

    def __init__(
        self,
        judged: Sequence[Site],
        findings: Iterable[Finding],
        kits: Sequence[Kit],
        readable: int,
        today: date,
    ) -> None:
        self.judged = tuple(judged)
        self.findings = unique(findings)
        self.kits = tuple(kits)
        self.readable = readable
        self.today = today

    @property
    def sites(self) -> list[Summary]:
        """One summary per site."""
        return [site.summary for site in self.judged]

    def waits(self) -> dict[tuple[str, str], tuple[str, ...]]:
        """For a site and a stage, what has to come first and is still open."""
        return {(site.name, stage.name): stage.blocked_by for site in self.judged for stage in site.stages}

    def gaps(self) -> list[Gap]:
        """What every site still lacks, in work order."""
        return [gap for site in self.judged for gap in site.gaps]


def load(paths: Iterable[str], today: date, until: date | None = None) -> Workspace:
    """Read and judge everything in the paths. Never raises for what stands in a file.

    With `until`, only what was written for that day and the days before it, and the calibrations known then.
    """
    found = discovered(paths, until)
    pipeline = SitePipeline(found.reach, today, _whole, held=found.held)
    files, sites, _ = pipeline.piece([found.logs])
    everything = joined(found, files, tuple(sites.values()))
    readable = found.readable + sum(file.readable for file in files)
    return Workspace(everything.sites, everything.findings, everything.kits, readable, today)


def _whole(judged: JudgedSite) -> SiteFacts:
    return facts_of(judged, judged.site)


def rows(workspace: Workspace, histories: Iterable[str] = ()) -> dict[str, list[Row]]:
    """The rows of every subject that can be asked about, and of the histories of some, by their tables."""
    from sitelog.asking.rows import history_of, rows_of, tool_row

    found: dict[str, list[Row]] = defaultdict(list)
    for site in workspace.judged:
        for subject, some in rows_of(site).items():
            found[subject] += some
        for subject in histories:
            found[f"{subject}_history"] += history_of(site, subject)
    used = uses(workspace.judged)
    for kit in workspace.kits:
        for key, tool in kit.tools.items():
            days = used.get((kit.name, tool.name), {})
            cycles = since_calibration(kit, key, days)
            found["tools"].append(
                tool_row(tool, kit.calibrations.get(key, ()), sum(days.values()), cycles, workspace.today)
            )
    return found

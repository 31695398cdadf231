"""Paths → everything that stands in them, judged. The one room that brings files and judgement together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from sitelog.files.records import Kit, Log, Sheet, read_kit, read_log, read_sheet
from sitelog.files.source import Source, discover, read
from sitelog.findings.finding import Finding
from sitelog.fleet.reach import Reach, of_unused
from sitelog.fleet.site import judge_logs
from sitelog.judging.judged import Gap, Site, Summary, together
from sitelog.judging.report import unique
from sitelog.judging.uses import no_interval, since_calibration, uses, worn_out

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
    files, findings = discover(paths)
    logs: list[Log] = []
    sheets: list[Sheet] = []
    kits: list[Kit] = []
    readable = 0
    for file in files:
        source = read(file)
        readable += is_readable(source)
        if source.role == "sheet":
            sheets.append(read_sheet(source))
        elif source.role == "kit":
            kits.append(read_kit(source))
        else:
            logs.append(read_log(source))
    if until is not None:
        from sitelog.judging.site.until import kit_until, log_until

        logs = [log for log in (log_until(log, until) for log in logs) if log is not None]
        kits = [kit_until(kit, until) for kit in kits]
    reach = Reach(sheets, kits, findings, until)
    by_site: dict[str, list[Log]] = defaultdict(list)
    for log in logs:
        findings += log.findings
        if log.site:
            by_site[log.site.casefold()].append(log)
    works = [judge_logs(same, reach, today) for same in by_site.values()]
    judged = together([work.site for work in works])
    used = {file: sheet for work in works for file, sheet in work.sheets.items()}
    used_kits = {file: kit for work in works for file, kit in work.kits.items()}
    findings += of_unused(sheets, used, reach)
    for sheet in {sheet.file: sheet for sheet in (*sheets, *used.values())}.values():
        findings += sheet.findings
    for work in works:
        findings += work.findings
    for site in judged:
        findings += site.findings
    every_kit = {kit.file: kit for kit in (*kits, *used_kits.values())}
    for kit in every_kit.values():
        findings += kit.findings
    if silent := [kit for kit in every_kit.values() if no_interval(kit)]:
        findings += worn_out(silent, uses(site.judge for site in judged))
    return Workspace(judged, findings, tuple(every_kit.values()), readable, today)


def is_readable(source: Source) -> bool:
    """Whether a file was there and could be read."""
    return bool(source.lines) or not any(
        one.slug in ("unreadable-file", "no-such-file") for one in source.findings
    )


def rows(workspace: Workspace, histories: Iterable[str] = ()) -> dict[str, list[Row]]:
    """The rows of every subject that can be asked about, and of the histories of some, by their tables."""
    from sitelog.asking.rows import history_of, rows_of, tool_row

    found: dict[str, list[Row]] = defaultdict(list)
    for site in workspace.judged:
        for subject, some in rows_of(site).items():
            found[subject] += some
        for subject in histories:
            found[f"{subject}_history"] += history_of(site, subject)
    used = uses(site.judge for site in workspace.judged)
    for kit in workspace.kits:
        for key, tool in kit.tools.items():
            days = used.get((kit.name, tool.name), {})
            cycles = since_calibration(kit, key, days)
            found["tools"].append(
                tool_row(tool, kit.calibrations.get(key, ()), sum(days.values()), cycles, workspace.today)
            )
    return found

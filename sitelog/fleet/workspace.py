"""Paths → everything that stands in them, judged. The one room that brings files and judgement together."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Container, Iterable, Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.files.attachments import attachments, photos
from sitelog.files.records import Kit, Log, Sheet, assemble, read_kit, read_log, read_sheet
from sitelog.files.signatures import SignatureCheck, signatures
from sitelog.files.signatures import findings as broken
from sitelog.files.source import Source, discover, is_repository, named_in, read, role_of
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding, Span
from sitelog.judging.case import Case
from sitelog.judging.judged import Gap, Site, Summary, judge_site, together
from sitelog.judging.result_findings import unique
from sitelog.judging.site import Observation, SiteLog, gather
from sitelog.judging.tool_uses import no_interval, since_calibration, uses, worn_out
from sitelog.judging.tools import Toolbox
from sitelog.language.kinds.header import NamedKit, NamedSheet
from sitelog.language.kinds.kind import row_of

TYPE_CHECKING = False
if TYPE_CHECKING:  # not loaded where no log holds a trial
    from sitelog.files.trials.results import Trial, TrialFault

Row = tuple[object, ...]
Need = tuple[str, str]
"""What a judgement rests on: `sheet` or `kit` and a name, `folder`, `repository` or `file` and a path."""
ANY_SHEET: Need = ("sheets", "")
ANY_KIT: Need = ("kits", "")
"""That it rests on which of them there are at all."""


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


class Reach:
    """The sheets and kits that a log can name: those among the paths, then those beside it and above.

    `needs` collects what was looked up, so that one can tell later what an answer rests on.
    """

    def __init__(
        self,
        sheets: Sequence[Sheet],
        kits: Sequence[Kit],
        findings: list[Finding],
        until: date | None = None,
    ) -> None:
        self.findings = findings
        self.needs: set[Need] = set()
        self._until = until
        self.sheets: dict[str, list[Sheet]] = defaultdict(list)
        self.kits: dict[str, list[Kit]] = defaultdict(list)
        self._folders: set[str] = set()
        self._files: set[str] = set()
        self._known: dict[str, list[Sheet | Kit]] = {}  # what was read in a folder, for every site alike
        self._whole: dict[tuple[int, int], tuple[object, Sheet, tuple[Sheet, list[Finding]]]] = {}
        self._boxes: dict[tuple[tuple[int, ...], int], tuple[object, Toolbox]] = {}
        for sheet in sheets:
            self._add_sheet(sheet)
        for kit in kits:
            self._add_kit(kit)

    def for_one(self) -> Reach:
        """The same reach for one site: what it finds by looking around is not in reach of the others."""
        one = Reach((), (), [], self._until)
        one.sheets, one.kits, one._files = self.sheets, self.kits, self._files
        one._known, one._whole, one._boxes = self._known, self._whole, self._boxes
        return one

    def _add_sheet(self, sheet: Sheet) -> None:
        self._files.add(os.path.realpath(sheet.file))
        others = self.sheets[sheet.name.casefold()]
        if sheet.name and any(other.revision == sheet.revision for other in others):
            message = f"a sheet `{sheet.name}` stands already in {others[0].file}"
            self.findings.append(
                finding_at(
                    Span(sheet.file), "duplicate-name", message, "give one of them another name or revision"
                )
            )
        others.append(sheet)

    def _add_kit(self, kit: Kit) -> None:
        self._files.add(os.path.realpath(kit.file))
        others = self.kits[kit.name.casefold()]
        if kit.name and others:
            message = f"a kit `{kit.name}` stands already in {others[0].file}"
            self.findings.append(
                finding_at(Span(kit.file), "duplicate-name", message, "give one of them another name")
            )
        others.append(kit)

    def look_around(self, file: str) -> None:
        """Read the sheets and kits in a log's folder and its parents, up to the repository's root."""
        start = os.path.dirname(os.path.realpath(file)) if file != "-" else os.path.realpath(".")
        folders, tried = _upwards(start)
        self.needs.update(("repository", folder) for folder in tried)
        for folder in folders:
            if folder in self._folders:
                continue
            self._folders.add(folder)
            self.needs.add(("folder", folder))
            if folder not in self._known:
                self._known[folder] = [self._read(path) for path in named_in(folder)]
            new = [one for one in self._known[folder] if os.path.realpath(one.file) not in self._files]
            if new:  # the others' reach stays as it is
                self.sheets = defaultdict(list, {name: list(some) for name, some in self.sheets.items()})
                self.kits = defaultdict(list, {name: list(some) for name, some in self.kits.items()})
                self._files = set(self._files)
            for one in new:
                if os.path.realpath(one.file) in self._files:
                    continue  # two links to one file
                if isinstance(one, Sheet):
                    self._add_sheet(one)
                else:
                    self._add_kit(one)

    def _read(self, path: str) -> Sheet | Kit:
        source = read(os.path.relpath(path))
        if role_of(path) == "sheet":
            return read_sheet(source)
        kit = read_kit(source)
        if self._until is None:
            return kit
        from sitelog.judging.site.until import kit_until

        return kit_until(kit, self._until)

    def sheet(self, name: str, revision: str) -> Sheet | None:
        """The sheet of a name, in the revision asked where one is."""
        self.needs.add(("sheet", name.casefold()))
        found = self.sheets.get(name.casefold(), [])
        return next(
            (sheet for sheet in found if not revision or sheet.revision.casefold() == revision.casefold()),
            None,
        )

    def kit(self, name: str) -> Kit | None:
        """The kit of a name."""
        self.needs.add(("kit", name.casefold()))
        found = self.kits.get(name.casefold())
        return found[0] if found else None

    def whole(self, sheet: Sheet) -> tuple[Sheet, list[Finding]]:
        """A sheet with everything it is based on, and what is wrong with that."""
        based_on, seen = sheet.based_on.casefold(), set[str]()
        while based_on and based_on not in seen:
            seen.add(based_on)
            self.needs.add(("sheet", based_on))
            found = self.sheets.get(based_on)
            based_on = found[0].based_on.casefold() if found else ""
        # For every site alike that has the same sheets in reach; it holds on to what it is remembered by.
        key = id(sheet), id(self.sheets)
        if key not in self._whole:
            whole = assemble(sheet, {name: found[0] for name, found in self.sheets.items() if found})
            self._whole[key] = self.sheets, sheet, whole
        return self._whole[key][2]

    def toolbox(self, kits: Sequence[Kit]) -> Toolbox:
        """The tools of the kits that a log names; for every site alike that names the same."""
        key = tuple([id(kit) for kit in kits]), id(self.kits)
        if key not in self._boxes:
            box = Toolbox(tuple(kits), [kit for same in self.kits.values() for kit in same])
            self._boxes[key] = (self.kits, tuple(kits)), box
        return self._boxes[key][1]


def _upwards(folder: str) -> tuple[list[str], list[str]]:
    """The folder and its parents up to the repository's root; without a repository, one parent only.

    With them every folder that was tried for being such a root.
    """
    path = [folder]
    while not is_repository(path[-1]):
        parent = os.path.dirname(path[-1])
        if parent == path[-1]:
            return path[:2], path
        path.append(parent)
    return path, path


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
        findings += worn_out(silent, uses(judged))
    return Workspace(judged, findings, tuple(every_kit.values()), readable, today)


def of_unused(sheets: Iterable[Sheet], used: Container[str], reach: Reach) -> list[Finding]:
    """What is wrong between the sheets that no site uses and what they are based on."""
    found: list[Finding] = []
    for sheet in sheets:
        if sheet.based_on and sheet.file not in used:
            one = reach.for_one()
            if sheet.based_on.casefold() not in one.sheets:
                one.look_around(sheet.file)
            found += one.whole(sheet)[1]
            reach.needs |= one.needs
    return found


def is_readable(source: Source) -> bool:
    """Whether a file was there and could be read."""
    return bool(source.lines) or not any(
        one.slug in ("unreadable-file", "no-such-file") for one in source.findings
    )


class Work(NamedTuple):
    """One site, judged, with what it came from: the sheets and kits used, by file, and what was looked up."""

    site: Site
    sheets: dict[str, Sheet]
    kits: dict[str, Kit]
    findings: tuple[Finding, ...]  # of its logs, and of what they name
    needs: frozenset[Need]


def judge_logs(logs: Sequence[Log], reach: Reach, today: date) -> Work:
    """One site: its sheets and kits found, its logs gathered, everything judged."""
    reach = reach.for_one()
    own: list[Finding] = [one for log in logs for one in log.findings]
    sheets: dict[str, Sheet] = {}
    kits: dict[str, Kit] = {}
    used: dict[str, Sheet] = {}
    for log in logs:
        names = [line.record for line in log.lines if isinstance(line.record, (NamedSheet, NamedKit))]
        if not any(isinstance(one, NamedSheet) for one in names):
            message = "the log names no sheet, so nothing can be judged"
            own.append(finding_at(Span(log.file), "no-sheet", message, "add `sheet NAME`"))
        for one in names:
            if isinstance(one, NamedSheet):
                sheet, whole, more = _named_sheet(one, reach)
                own += more
                if sheet is not None and whole is not None:
                    used[sheet.file] = sheet
                    sheets[one.name.casefold()] = whole
            else:
                if (kit := reach.kit(one.name)) is None:
                    reach.look_around(log.file)
                    kit = reach.kit(one.name)
                if kit is not None:
                    kits[one.name.casefold()] = kit
                else:
                    reach.needs.add(ANY_KIT)
                    span = one.head.entry.span(log.file)
                    message = f"no kit `{one.name}` is in reach"
                    own.append(finding_at(span, "missing-kit", message, _nearest(one.name, reach.kits)))
    if not kits:
        reach.needs.add(ANY_KIT)  # without a kit line any kit in reach serves
        for log in logs:
            reach.look_around(log.file)
    used_lines = [*(sheet.text for sheet in sheets.values()), *(kit.text for kit in kits.values())]
    held = [one for log in logs for one in _signatures(log, used_lines, own)]
    own += [one for log in logs for one in attachments(log)]
    box = reach.toolbox(tuple(kits.values()))
    log_of_site = gather(logs[0].site, logs, tuple(sheets.values()), tuple(kits.values()))
    case = Case(log_of_site, box, today, _trials(log_of_site, own))
    files = {("file", path) for log in logs for path in photos(log)}
    files |= {("file", beside(obs)) for obs in log_of_site.live_marks() if row_of(obs.kind).judged == "trial"}
    return Work(
        judge_site(case, own, held),
        used,
        {kit.file: kit for kit in kits.values()},
        (*own, *reach.findings),
        frozenset(reach.needs | files),
    )


def beside(obs: Observation) -> str:
    """The path of the file that an entry names: beside the log, or below it."""
    folder = os.path.dirname(obs.file) if obs.file != "-" else ""
    return os.path.join(folder, *obs.word.split("/"))


def _trials(log: SiteLog, own: list[Finding]) -> dict[tuple[str, int], Trial | TrialFault]:
    """What the loggers' files named by a site's `series` entries gave; what is wrong goes to `own`."""
    found: dict[tuple[str, int], Trial | TrialFault] = {}
    for obs in log.live_marks():
        if row_of(obs.kind).judged != "trial":
            continue
        from sitelog.files.trials.reading import read_trial
        from sitelog.files.trials.results import TrialFault

        trial = read_trial(beside(obs), obs.what)
        found[obs.file, obs.line] = trial
        if isinstance(trial, TrialFault):
            own.append(_trouble(obs, trial))
    return found


def _trouble(obs: Observation, trouble: TrialFault) -> Finding:
    """What is wrong with a logger's file: at its own line, or at the entry that names it."""
    if trouble.line:
        span = Span(trouble.file, trouble.line)
        return finding_at(span, "series-unreadable", trouble.message, trouble.help)
    slug = "series-missing" if trouble.absent else "series-unreadable"
    help = "put it beside the log" if trouble.absent else trouble.help
    message = f"{obs.word}: {trouble.message}"
    return finding_at(obs.record.head.entry.span(obs.file), slug, message, help)


def _signatures(log: Log, used: Sequence[Sequence[str]], own: list[Finding]) -> list[SignatureCheck]:
    """A log's signatures, tested; what is wrong with them goes to `own`."""
    held = signatures(log, used)
    own += broken(log, held)
    return held


def _named_sheet(record: NamedSheet, reach: Reach) -> tuple[Sheet | None, Sheet | None, list[Finding]]:
    """The sheet that a line of a log names, the same with what it is based on, and what is wrong with it.

    Both are None where no such sheet is in reach.
    """
    file, name, revision = record.head.file, record.name, record.revision
    sheet = reach.sheet(name, revision)
    if sheet is None or (sheet.based_on and sheet.based_on.casefold() not in reach.sheets):
        reach.look_around(file)
        sheet = reach.sheet(name, revision)
    if sheet is not None:
        return sheet, *reach.whole(sheet)
    reach.needs.add(ANY_SHEET)
    message, help = f"no sheet `{name}` is in reach", ""
    if others := reach.sheets.get(name.casefold()):
        revisions = ", ".join(other.revision or "none" for other in others)
        message = f"`{name}` is asked in revision {revision}; in reach is revision {revisions}"
        help = "see which one the equipment has"
    help = help or _nearest(name, reach.sheets)
    return None, None, [finding_at(record.head.entry.span(file), "missing-sheet", message, help)]


def _nearest(name: str, known: Iterable[str]) -> str:
    from difflib import get_close_matches

    close = get_close_matches(name.casefold(), list(known), 1, 0.5)
    return f"did you mean `{close[0]}`?" if close else "put its file beside the log or above it"


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

"""Many sites checked: some files at a time, on several processors, with the memory of those files.

What is said is what `workspace.load` says, to the letter. A chunk of files is read and its sites judged; of
each site only its findings, its figures and the few facts are kept that show something only when all sites
are seen: which serial sat where and when, and how often a tool of a kit that names no interval was used. A
site whose logs fell into two chunks is judged again from all of them.
"""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.files.records import Kit, Log, Sheet, read_kit, read_log, read_sheet
from sitelog.files.source import discover, read, role_of
from sitelog.findings.finding import Finding
from sitelog.fleet.reach import Reach, of_unused
from sitelog.fleet.site import Work, judge_logs
from sitelog.fleet.workspace import is_readable
from sitelog.judging.judged import Summary, with_more
from sitelog.judging.parts import Placement, across
from sitelog.judging.report import unique
from sitelog.judging.site import Observation
from sitelog.judging.uses import Uses, no_interval, uses, worn_out
from sitelog.language.kinds.base import Head, Record
from sitelog.language.syntax import kept_in, learn, learnt, use_cache
from sitelog.language.syntax.kept import Known
from sitelog.language.syntax.tokens import Entry

FEW = 100
"""Files; with fewer, starting processes takes longer than they save."""

CHUNK = 32
_FIRST = 8  # what the first files teach of a fleet's words, every process then knows

Said = Callable[[int, int], None]
"""Told how many of how many files have been checked."""


class Checked(NamedTuple):
    """What there is to say about some paths."""

    findings: list[Finding]
    sites: list[Summary]
    readable: int


class _File(NamedTuple):
    number: int
    site: str
    findings: tuple[Finding, ...]
    readable: bool


class _Facts(NamedTuple):
    """One site: what is said of it, and what its parts and tools have to do with other sites."""

    name: str
    summary: Summary
    of_logs: tuple[Finding, ...]
    of_site: tuple[Finding, ...]
    stays: tuple[Placement, ...]
    sheets: dict[str, Sheet | None]  # used, by file; None for one that stands among the paths
    kits: dict[str, Kit | None]
    uses: Uses


class _Chunk(NamedTuple):
    files: list[_File]
    sites: dict[str, _Facts]
    learnt: dict[str, Known] | None = None  # of lines, in another process


Numbered = Sequence[tuple[int, str]]


class Checker:
    """Checks logs by the sheets and kits in reach of them."""

    def __init__(self, sheet_files: Sequence[str], kit_files: Sequence[str], today: date) -> None:
        self.told = sheet_files, kit_files, today
        self.today = today
        self.findings: list[Finding] = []
        sheets, kits = [read(file) for file in sheet_files], [read(file) for file in kit_files]
        self.readable = sum(is_readable(source) for source in (*sheets, *kits))
        self.sheets = [read_sheet(source) for source in sheets]
        self.kits = [read_kit(source) for source in kits]
        self.reach = Reach(self.sheets, self.kits, self.findings)
        self._process = os.getpid()
        self._given = {*(sheet.file for sheet in self.sheets), *(kit.file for kit in self.kits)}

    def chunk(self, files: Numbered) -> _Chunk:
        """Some log files, each with its number among all."""
        by_site: dict[str, list[Log]] = defaultdict(list)
        found: list[_File] = []
        for number, file in files:
            source = read(file)
            log = read_log(source)
            site = log.site.casefold()
            found.append(_File(number, site, log.findings, is_readable(source)))
            if site:
                by_site[site].append(log)
        sites: dict[str, _Facts] = {}
        for site, logs in by_site.items():
            work = judge_logs(logs, self.reach, self.today)
            sites[site] = self._facts(work, logs)
            work.site.judge.let_go()
        return _Chunk(found, sites)

    def apart(self, files: Numbered) -> _Chunk:
        """The same in another process, with what that has learnt."""
        if self._process != os.getpid():
            self._process = os.getpid()
            learnt()  # what came with the fork is known to the first
        return self.chunk(files)._replace(learnt=learnt())

    def _facts(self, work: Work, logs: Iterable[Log]) -> _Facts:
        said = {one for log in logs for one in log.findings}
        kits = work.site.judge.box.kits
        return _Facts(
            work.site.name,
            work.site.summary,
            tuple([one for one in work.findings if one not in said]),
            work.site.findings,
            tuple([_light(stay) for stay in work.site.placements]),
            {file: None if file in self._given else sheet for file, sheet in work.sheets.items()},
            {file: None if file in self._given else kit for file, kit in work.kits.items()},
            uses([work.site.judge]) if any(no_interval(kit) for kit in kits) else {},
        )


def check(paths: Iterable[str], today: date, processors: int = 1, said: Said | None = None) -> Checked:
    """Check everything in the paths, on so many processors; never raises for what stands in a file."""
    paths = list(paths)
    files, findings = discover(paths)
    if len(files) < FEW or any(not role_of(file) for file in files):
        from sitelog.fleet.workspace import load

        workspace = load(paths, today)
        return Checked(workspace.findings, workspace.sites, workspace.readable)
    by_role = {role: [file for file in files if role_of(file) == role] for role in ("sheet", "kit", "log")}
    checker = Checker(by_role["sheet"], by_role["kit"], today)
    logs = list(enumerate(by_role["log"]))
    chunks = [logs[:_FIRST], *(logs[at : at + CHUNK] for at in range(_FIRST, len(logs), CHUNK))]
    read_: list[_File] = []
    parts: dict[str, list[_Facts]] = defaultdict(list)
    for chunk in _each(checker, chunks, min(processors, len(chunks) - 1)):
        read_ += chunk.files
        for site, facts in chunk.sites.items():
            parts[site].append(facts)
        if said is not None:
            said(len(read_), len(logs))
    read_.sort()
    whole: dict[str, _Facts] = {}
    for site in dict.fromkeys(one.site for one in read_ if one.site):
        if len(parts[site]) > 1:
            again = [logs[one.number] for one in read_ if one.site == site]
            parts[site] = [checker.chunk(again).sites[site]]
        whole[site] = parts[site][0]
    findings += checker.findings
    for one in read_:
        findings += one.findings
    sites = _together(checker, list(whole.values()), findings)
    return Checked(unique(findings), sites, checker.readable + sum(one.readable for one in read_))


def _together(checker: Checker, sites: Sequence[_Facts], findings: list[Finding]) -> list[Summary]:
    """The figures of every site; what shows only when all are seen goes to `findings` too."""
    used = {file: sheet for one in sites for file, sheet in one.sheets.items()}
    findings += of_unused(checker.sheets, used, checker.reach)
    for sheet in (*checker.sheets, *filter(None, used.values())):
        findings += sheet.findings
    for one in sites:
        findings += one.of_logs
    summaries: list[Summary] = []
    for one, (_, more) in zip(sites, across([(one.name, one.stays) for one in sites]), strict=True):
        findings += (*one.of_site, *more)
        summaries.append(with_more(one.summary, more))
    kits = {kit.file: kit for kit in checker.kits}
    kits |= {file: kit for one in sites for file, kit in one.kits.items() if kit is not None}
    for kit in kits.values():
        findings += kit.findings
    if silent := [kit for kit in kits.values() if no_interval(kit)]:
        used_tools: Uses = defaultdict(dict)
        for one in sites:
            for tool, days in one.uses.items():
                every = used_tools[tool]
                for day, count in days.items():
                    every[day] = every.get(day, 0) + count
        findings += worn_out(silent, used_tools)
    return summaries


# ---- on several processors -----------------------------------------------------------------------
def _each(checker: Checker, chunks: Sequence[Numbered], processors: int) -> Iterator[_Chunk]:
    """Every chunk, checked, in order."""
    yield checker.chunk(chunks[0])
    from sitelog.base.processes import each

    told = (*checker.told, kept_in())
    for chunk in each(checker.chunk, checker.apart, chunks[1:], processors, _begun, told):
        learn(chunk.learnt or {})  # this process keeps it for the next start
        yield chunk


def _begun(
    sheet_files: Sequence[str], kit_files: Sequence[str], today: date, cache: str
) -> Callable[[Numbered], _Chunk]:
    """What checks in a process that knows nothing yet."""
    use_cache(cache)
    return Checker(sheet_files, kit_files, today).apart


# ---- what is kept of a serial's time at a place --------------------------------------------------
def _light(stay: Placement) -> Placement:
    until = _bare(stay.until) if stay.until is not None else None
    return stay._replace(since=_bare(stay.since), until=until)


def _bare(obs: Observation) -> Observation:
    """A mark that says when and where it was written, and what is to be shown of its line."""
    entry = obs.record.head.entry
    head = Head(obs.file, Entry("", entry.number, entry.text), None, None, (), "", (0, 0))
    return obs._replace(value=None, second=None, conditions=(), record=Record(head), in_use=())

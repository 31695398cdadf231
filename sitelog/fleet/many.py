"""Log files → sites, judged piece by piece, each reduced to what the caller wants.

`load` wants whole sites, `check` their figures and findings, an index their rows. A piece is some files, read
and judged in this process or in another. A judged site is held no longer than `reduce` holds it. What shows
only when all sites are seen (serials on two sites, moved parts, worn tools) comes of `joined`, which needs a
few facts of each.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from itertools import chain

from sitelog.base.frozen import NamedTuple, record
from sitelog.files.records import Kit, Log, Sheet, read_kit, read_log, read_sheet
from sitelog.files.source import Source, discover, read, role_of
from sitelog.findings.finding import Finding
from sitelog.fleet.reach import Origin, Reach, of_unused
from sitelog.fleet.site import JudgedSite, judge_logs
from sitelog.judging.judged import Site, Summary, together
from sitelog.judging.placements import Placement
from sitelog.judging.tool_uses import Uses, no_interval, uses, worn_out
from sitelog.language.syntax import kept_in, learn, learnt, use_cache
from sitelog.language.syntax.kept import Learnt

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

FEW = 100
"""Groups of files; with fewer, starting processes takes longer than they save."""

CHUNK = 32
"""Groups of files that are one piece of work."""

FIRST = 8
"""Groups judged before any process is started, which then knows what they teach of a fleet's words."""

Group = Sequence[str]
"""Log files that are known to be of one site, or one file of which nothing is known yet."""

Reader = Callable[[str], tuple[Source, str]]
"""Reads a file: its lines, and a digest of its bytes for those who want one."""


class Discovered(NamedTuple):
    """What some paths hold, before any log is judged."""

    logs: tuple[str, ...]
    held: dict[str, tuple[Source, str]]  # logs that had to be read to know that they are logs
    reach: Reach
    readable: int  # how many sheets and kits could be read
    findings: tuple[Finding, ...]  # what is wrong with the paths


class LogFile(NamedTuple):
    """A log file that was read."""

    path: str
    site: str  # the site it names, folded; empty where it names none
    findings: tuple[Finding, ...]
    readable: bool
    digest: str


class Piece(NamedTuple):
    """Some log files, read, and their sites by name, each as `reduce` gave it.

    A site that comes again in a later piece takes the place of what came before.
    """

    files: list[LogFile]
    sites: dict[str, Any]  # by folded name
    learnt: dict[str, Learnt]  # of lines, in another process


@record
class LightSite:
    """What other sites, and the summary of all, must know of one; small enough to be held for every site."""

    name: str
    summary: Summary
    findings: tuple[Finding, ...]
    placements: tuple[Placement, ...]


class SiteFacts(NamedTuple):
    """One site, whole or light, with what it took from sheets and kits."""

    site: Any  # Site or LightSite
    log_findings: tuple[Finding, ...]  # of its logs and of what they name, without those of `LogFile`
    sheets: dict[str, Sheet | None]  # used, by file; None for one that stands among the paths
    kits: dict[str, Kit | None]
    uses: Uses  # of the tools of kits that name no interval


class SitePipeline:
    """Judges logs by the sheets and kits of a reach, and reduces each site to what is wanted.

    `reduce` takes a judged site and gives what `Piece.sites` holds of it; it may let go of the site. `reader`
    reads a log. Both are sent to other processes, so each is a function of a module, or a `partial` of one.
    `held` are logs that were read already, by path; it may change between two calls.
    """

    def __init__(
        self,
        reach: Reach,
        today: date,
        reduce: Callable[[JudgedSite], object],
        reader: Reader | None = None,
        held: Mapping[str, tuple[Source, str]] | None = None,
    ) -> None:
        self._reach = reach
        self._today = today
        self._reduce = reduce
        self._reader = reader or _read
        self._held = held or {}

    def __reduce__(self) -> tuple[Any, ...]:
        """How a process that knows nothing yet gets one: it reads the sheets and kits for itself."""
        return _begun, (self._reach.origin, self._today, self._reduce, self._reader, kept_in())

    def pieces(self, groups: Sequence[Group], processors: int = 1) -> Iterator[Piece]:
        """Every site of the groups, some at a time; where there are many, on so many processors."""
        by_site: dict[str, dict[int, list[str]]] = defaultdict(dict)  # its files, by the piece they came in
        for number, piece in enumerate(self._each(groups, processors)):
            learn(piece.learnt)  # this process keeps it for the next start
            for file in filter(_names_site, piece.files):
                by_site[file.site].setdefault(number, []).append(file.path)
            yield piece
        for parts in by_site.values():
            if len(parts) > 1:  # its logs fell into several pieces
                again = self.piece([list(chain.from_iterable(parts.values()))])
                yield again._replace(files=[])

    def _each(self, groups: Sequence[Group], processors: int) -> Iterator[Piece]:
        if len(groups) < FEW:
            yield self.piece(groups)
            return
        yield self.piece(groups[:FIRST])
        rest = [groups[at : at + CHUNK] for at in range(FIRST, len(groups), CHUNK)]
        from sitelog.base.processes import each

        yield from each(self, rest, min(processors, len(rest)))

    def piece(self, groups: Sequence[Group]) -> Piece:
        """The sites of some files, each reduced before the next is judged."""
        files, by_site = self._read_logs(groups)
        return Piece(files, {site: self._reduce(self._judged(logs)) for site, logs in by_site.items()}, {})

    def whole(self, groups: Sequence[Group]) -> Piece:
        """The sites of some files, judged and not reduced."""
        files, by_site = self._read_logs(groups)
        return Piece(files, {site: self._judged(logs) for site, logs in by_site.items()}, {})

    # ---- as a worker of `processes` ------------------------------------------------------------------
    def begin(self) -> None:
        """Start in another process: what is known so far, the first process knows too."""
        learnt()

    def here(self, groups: Sequence[Group]) -> Piece:
        """A piece in the first process."""
        return self.piece(groups)

    def apart(self, groups: Sequence[Group]) -> Piece:
        """A piece in another process, with what was learnt for it."""
        return self.piece(groups)._replace(learnt=learnt())

    def _read_logs(self, groups: Iterable[Group]) -> tuple[list[LogFile], dict[str, list[Log]]]:
        files: list[LogFile] = []
        by_site: dict[str, list[Log]] = defaultdict(list)
        for path in chain.from_iterable(groups):
            source, digest = self._held.get(path) or self._reader(path)
            log = self._reach.log_as_of(read_log(source))
            site = log.site.casefold() if log is not None else ""
            findings = log.findings if log is not None else ()
            files.append(LogFile(path, site, findings, is_readable(source), digest))
            if log is not None and site:
                by_site[site].append(log)
        return files, by_site

    def _judged(self, logs: Sequence[Log]) -> JudgedSite:
        return judge_logs(logs, self._reach, self._today)


def _read(path: str) -> tuple[Source, str]:
    return read(path), ""


def _begun(
    origin: Origin,
    today: date,
    reduce: Callable[[JudgedSite], object],
    reader: Reader,
    cache: str,
) -> SitePipeline:
    """A pipeline in a process that knows nothing yet."""
    if cache != kept_in():
        use_cache(cache)
    sheets, kits, until = origin
    reach = Reach(
        [read_sheet(read(file)) for file in sheets], [read_kit(read(file)) for file in kits], [], until
    )
    return SitePipeline(reach, today, reduce, reader)


def _names_site(file: LogFile) -> bool:
    return bool(file.site)


def is_readable(source: Source) -> bool:
    """Whether a file was there and could be read."""
    return bool(source.lines) or not any(
        fault.slug in ("unreadable-file", "no-such-file") for fault in source.findings
    )


# ---- all sites of some paths ---------------------------------------------------------------------
def discovered(paths: Iterable[str], until: date | None = None) -> Discovered:
    """The logs in the paths, and the sheets and kits, read. With `until`, as they stood on that day."""
    files, findings = discover(paths)
    logs: list[str] = []
    held: dict[str, tuple[Source, str]] = {}
    sheets: list[Sheet] = []
    kits: list[Kit] = []
    readable = 0
    for file in files:
        role = role_of(file)
        if role == "log":
            logs.append(file)
            continue
        source = read(file)
        if source.role == "sheet":
            sheets.append(read_sheet(source))
        elif source.role == "kit":
            kits.append(read_kit(source))
        else:
            logs.append(file)
            held[file] = source, ""
            continue
        readable += is_readable(source)
    return Discovered(tuple(logs), held, Reach(sheets, kits, findings, until), readable, tuple(findings))


def facts_of(judged: JudgedSite, site: Site | LightSite) -> SiteFacts:
    """What is needed of a judged site when all are seen; `site` is the site itself, or a light one."""
    of_files = {fault for log in judged.logs for fault in log.findings}
    given = judged.given
    silent = any(no_interval(kit) for kit in judged.site.box.kits)
    return SiteFacts(
        site,
        tuple([fault for fault in judged.findings if fault not in of_files]),
        {file: None if file in given else sheet for file, sheet in judged.sheets.items()},
        {file: None if file in given else kit for file, kit in judged.kits.items()},
        uses([judged.site]) if silent else {},
    )


class Everything(NamedTuple):
    """All sites of some paths, seen together."""

    sites: list[Any]  # as they stand in the facts
    kits: tuple[Kit, ...]
    findings: list[Finding]


def joined(found: Discovered, files: Iterable[LogFile], facts: Sequence[SiteFacts]) -> Everything:
    """All sites with what shows only when all are seen, every kit, and every finding about the paths."""
    findings = [*found.findings]
    for file in files:
        findings += file.findings
    given_sheets, given_kits = found.reach.given
    used = {file: sheet for fact in facts for file, sheet in fact.sheets.items()}
    findings += of_unused(given_sheets, used, found.reach)
    for sheet in (*given_sheets, *filter(None, used.values())):
        findings += sheet.findings
    for fact in facts:
        findings += fact.log_findings
    sites = together([fact.site for fact in facts])
    for site in sites:
        findings += site.findings
    kits = {kit.file: kit for kit in given_kits}
    kits |= {file: kit for fact in facts for file, kit in fact.kits.items() if kit is not None}
    for kit in kits.values():
        findings += kit.findings
    if silent := [kit for kit in kits.values() if no_interval(kit)]:
        findings += worn_out(silent, _uses_of_all(facts))
    return Everything(sites, tuple(kits.values()), findings)


def _uses_of_all(facts: Iterable[SiteFacts]) -> Uses:
    found: Uses = defaultdict(dict)
    for site in facts:
        for tool, days in site.uses.items():
            counts = found[tool]
            for day, count in days.items():
                counts[day] = counts.get(day, 0) + count
    return found

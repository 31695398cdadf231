"""The logs of one site → the site, judged by the sheets and kits in reach."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.base.memory import remembered
from sitelog.files.attachments import attachments, photos
from sitelog.files.records import Kit, Log, Sheet
from sitelog.files.signatures import SignatureCheck, SignedFiles, signatures
from sitelog.files.signatures import findings as signature_findings
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding, Span
from sitelog.fleet.reach import ANY_KIT, ANY_SHEET, Need, Reach
from sitelog.judging.case import Case
from sitelog.judging.judged import Site, judge_site
from sitelog.judging.site import Observation, SiteLog, gather
from sitelog.language.kinds.header import NamedKit, NamedSheet
from sitelog.language.kinds.kind import row_of

TYPE_CHECKING = False
if TYPE_CHECKING:  # not loaded where no log holds a trial
    from sitelog.files.trials.results import Trial, TrialFault


class JudgedSite(NamedTuple):
    """One site, judged, with what it came from: its logs, the sheets and kits used, what was looked up."""

    site: Site
    logs: tuple[Log, ...]
    sheets: dict[str, Sheet]  # by file
    kits: dict[str, Kit]  # by file
    findings: tuple[Finding, ...]  # of its logs, and of what they name
    needs: frozenset[Need]
    given: frozenset[str]  # the files of the sheets and kits among the paths, used or not


def judge_logs(logs: Sequence[Log], reach: Reach, today: date) -> JudgedSite:
    """Judge one site: its sheets and kits found, its logs gathered.

    `logs` are all logs that name the site, in the order of the files; `reach` is that of every site.
    """
    reach = reach.for_site()
    named = _Named(reach)
    named.findings += [fault for log in logs for fault in log.findings]
    for log in logs:
        named.take(log)
    if not named.kits:
        reach.needs.add(ANY_KIT)  # without a kit line the message names the kit in reach
        for log in logs:
            reach.look_around(log.file)
    sheets, kits = tuple(named.sheets.values()), tuple(named.kits.values())
    found = named.findings
    unread = [
        fault
        for faults in (found, *(sheet.findings for sheet in sheets), *(kit.findings for kit in kits))
        for fault in faults
        if fault.severity == "error"
    ]
    used_lines = SignedFiles([sheet.text for sheet in sheets], [kit.text for kit in kits])
    checks = [check for log in logs for check in _signatures(log, used_lines, found)]
    of_photos = [fault for log in logs for fault in attachments(log)]
    found += of_photos
    known = tuple(_known_on(kit, today) for kit in kits)
    site_log = gather(logs[0].site, logs, sheets, known)
    box = reach.toolbox(known, named.absent)
    case = Case(site_log, box, today, _trials(site_log, found) | _faults_of_photos(of_photos))
    files = {("file", path) for log in logs for path in photos(log)}
    files |= {("file", beside(obs)) for obs in site_log.live_marks() if row_of(obs.kind).judged == "trial"}
    return JudgedSite(
        judge_site(case, found, checks, unread),
        tuple(logs),
        named.used,
        {kit.file: kit for kit in kits},
        (*found, *reach.findings),
        frozenset(reach.needs | files),
        reach.given_files,
    )


@remembered(500)
def _known_on(kit: Kit, today: date) -> Kit:
    """The kit as it was known on the day to judge by: what a later calibration finds, nobody knows yet."""
    if all(calibration.day <= today for some in kit.calibrations.values() for calibration in some):
        return kit
    from sitelog.judging.site.until import kit_until

    return kit_until(kit, today)


class _Named:
    """The sheets and kits that the logs of one site name, and what is wrong with the naming."""

    def __init__(self, reach: Reach) -> None:
        self._reach = reach
        self.sheets: dict[str, Sheet] = {}  # by folded name, each with what it is based on
        self.kits: dict[str, Kit] = {}  # by folded name
        self.absent: list[str] = []  # kits that are named and not in reach
        self.used: dict[str, Sheet] = {}  # the sheets as they stand in their files, by file
        self.findings: list[Finding] = []

    def take(self, log: Log) -> None:
        """Find what one log names."""
        names = [line.record for line in log.lines if isinstance(line.record, (NamedSheet, NamedKit))]
        if not any(isinstance(name, NamedSheet) for name in names):
            message = "the log names no sheet, so nothing can be judged"
            self.findings.append(finding_at(Span(log.file), "no-sheet", message, "add `sheet NAME`"))
        named: set[str] = set()  # in this log
        for name in names:
            span = name.head.entry.span(log.file)
            if isinstance(name, NamedSheet):
                if name.name.casefold() in named:
                    message = f"`{name.name}` is named twice in one log, and is asked once"
                    help = f"two of them? A log for each, or a second sheet `based on {name.name}`"
                    self.findings.append(finding_at(span, "duplicate-name", message, help))
                    continue
                named.add(name.name.casefold())
                self._take_sheet(name, span)
            else:
                self._take_kit(name, span)

    def _take_sheet(self, named: NamedSheet, span: Span) -> None:
        key = named.name.casefold()
        meant = self._reach.sheets_named(named.name, named.revision)
        if not meant or any(not self._reach.has_base(sheet) for sheet in meant):
            self._reach.look_around(span.file)
            meant = self._reach.sheets_named(named.name, named.revision)
        if len(meant) > 1:
            self._say_several(named, meant, span)
            return
        if meant:
            (sheet,) = meant
            whole, faults = self._reach.assembled(sheet)
            self.findings += faults
            self.used |= {one.file: one for one in (sheet, *self._reach.bases_of(sheet))}
            self.sheets[key] = whole
            return
        self._reach.needs.add(ANY_SHEET)
        if others := self._reach.sheets.get(key):
            revisions = ", ".join(other.revision or "none" for other in others)
            asked = f"`{named.name}` is asked in revision {named.revision}"
            message = f"{asked}; in reach is revision {revisions}"
            help = "see which one the equipment has"
        else:
            message = f"no sheet `{named.name}` is in reach"
            help = _nearest(named.name, self._reach.sheets)
        self.findings.append(finding_at(span, "missing-sheet", message, help))

    def _say_several(self, named: NamedSheet, meant: Sequence[Sheet], span: Span) -> None:
        """Several sheets could be meant: which one asks is not known, so none is judged by."""
        self.used |= {sheet.file: sheet for sheet in meant}
        revisions = list(dict.fromkeys(sheet.revision for sheet in meant))
        if len(revisions) == 1:
            where = " and ".join(sheet.file for sheet in meant)
            message = f"more than one sheet `{named.name}` is in reach: {where}"
            help = "keep one of them, or give one another name or revision"
        else:
            listed = " and ".join(revision or "none" for revision in revisions)
            message = f"`{named.name}` is in reach in revision {listed}, and the log does not say which"
            newest = next(revision for revision in reversed(revisions) if revision)
            help = f"name the one that the equipment has, such as `sheet {named.name} revision {newest}`"
        self.findings.append(finding_at(span, "missing-sheet", message, help))

    def _take_kit(self, named: NamedKit, span: Span) -> None:
        kit = self._reach.kit(named.name)
        if kit is None:
            self._reach.look_around(span.file)
            kit = self._reach.kit(named.name)
        if kit is not None:
            if others := [other.file for other in self._reach.kits_named(named.name)[1:]]:
                message = f"`{named.name}` is a kit in {kit.file} and in {' and '.join(others)}"
                help = "give one of them another name"
                self.findings.append(finding_at(span, "duplicate-name", message, help))
            self.kits[named.name.casefold()] = kit
            return
        self._reach.needs.add(ANY_KIT)
        self.absent.append(named.name)
        help = _nearest(named.name, self._reach.kits)
        self.findings.append(finding_at(span, "missing-kit", f"no kit `{named.name}` is in reach", help))


def _nearest(name: str, known: Iterable[str]) -> str:
    from difflib import get_close_matches

    close = get_close_matches(name.casefold(), list(known), 1, 0.5)
    return f"did you mean `{close[0]}`?" if close else "put its file beside the log or above it"


def beside(obs: Observation) -> str:
    """The path of the file that an entry names: beside the log, or below it."""
    folder = os.path.dirname(obs.file) if obs.file != "-" else ""
    return os.path.join(folder, *obs.word.split("/"))


def _trials(log: SiteLog, found: list[Finding]) -> dict[tuple[str, int], Trial | TrialFault]:
    """What the loggers' files named by a site's `series` entries gave; what is wrong goes to `found`."""
    trials: dict[tuple[str, int], Trial | TrialFault] = {}
    for obs in log.live_marks():
        if row_of(obs.kind).judged != "trial":
            continue
        from sitelog.files.trials.reading import read_trial
        from sitelog.files.trials.results import TrialFault

        trial = read_trial(beside(obs), obs.what)
        trials[obs.file, obs.line] = trial
        if isinstance(trial, TrialFault):
            found.append(_trouble(obs, trial))
    return trials


def _faults_of_photos(findings: Sequence[Finding]) -> dict[tuple[str, int], Trial | TrialFault]:
    """The photos that are not there, or are not the ones that were meant, by the lines that name them."""
    if not findings:
        return {}
    from sitelog.files.trials.results import TrialFault

    return {
        (fault.file, fault.line): TrialFault(
            fault.file, fault.line, fault.message, absent=fault.slug == "photo-absent"
        )
        for fault in findings
    }


def _trouble(obs: Observation, trouble: TrialFault) -> Finding:
    """What is wrong with a logger's file: at its own line, or at the entry that names it."""
    if trouble.line:
        at = Span(trouble.file, trouble.line)
        return finding_at(at, "series-unreadable", trouble.message, trouble.help)
    slug = "series-missing" if trouble.absent else "series-unreadable"
    help = "put it beside the log" if trouble.absent else trouble.help
    span = obs.record.head.entry.span(obs.file)
    return finding_at(span, slug, f"{obs.word}: {trouble.message}", help)


def _signatures(log: Log, used: SignedFiles, found: list[Finding]) -> list[SignatureCheck]:
    """A log's signatures, tested; what is wrong with them goes to `found`."""
    checks = signatures(log, used)
    found += signature_findings(log, checks)
    return checks

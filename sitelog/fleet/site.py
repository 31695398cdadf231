"""The logs of one site → the site, judged by the sheets and kits in reach."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.files.attachments import attachments, photos
from sitelog.files.records import Kit, Log, Sheet
from sitelog.files.signatures import SignatureCheck, signatures
from sitelog.files.signatures import findings as broken
from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.fleet.reach import ANY_KIT, ANY_SHEET, Need, Reach
from sitelog.judging.judge import Judge
from sitelog.judging.judged import Site, judge_site
from sitelog.judging.site import Observation, SiteLog, gather
from sitelog.language.kinds.header import NamedKit, NamedSheet

TYPE_CHECKING = False
if TYPE_CHECKING:  # not loaded where no log holds a trial
    from sitelog.files.trials.results import Trial, Trouble


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
            own.append(
                finding(
                    "no-sheet",
                    "the log names no sheet, so nothing can be judged",
                    log.file,
                    1,
                    1,
                    2,
                    help="add `sheet NAME`",
                )
            )
        for one in names:
            entry = one.head.entry

            def say(slug: str, message: str, help: str, entry=entry, file: str = log.file) -> None:  # type: ignore[no-untyped-def]
                own.append(
                    finding(
                        slug, message, file, entry.number, entry.start + 1, entry.end + 1, entry.text, help
                    )
                )

            if isinstance(one, NamedSheet):
                _name_sheet(one, log.file, reach, sheets, used, own, say)
            else:
                if (kit := reach.kit(one.name)) is None:
                    reach.look_around(log.file)
                    kit = reach.kit(one.name)
                if kit is not None:
                    kits[one.name.casefold()] = kit
                else:
                    reach.needs.add(ANY_KIT)
                    say("missing-kit", f"no kit `{one.name}` is in reach", _nearest(one.name, reach.kits))
    if not kits:
        reach.needs.add(ANY_KIT)  # without a kit line any kit in reach serves
        for log in logs:
            reach.look_around(log.file)
    used_lines = [*(sheet.text for sheet in sheets.values()), *(kit.text for kit in kits.values())]
    held = [one for log in logs for one in _signatures(log, used_lines, own)]
    own += [one for log in logs for one in attachments(log)]
    box = reach.toolbox(tuple(kits.values()))
    log_of_site = gather(logs[0].site, logs, tuple(sheets.values()), tuple(kits.values()))
    judge = Judge(log_of_site, box, today, _trials(log_of_site, own))
    files = {("file", path) for log in logs for path in photos(log)}
    files |= {("file", beside(obs)) for obs in log_of_site.live_marks() if obs.kind == "series"}
    return Work(
        judge_site(log_of_site, judge, own, held),
        used,
        {kit.file: kit for kit in kits.values()},
        (*own, *reach.findings),
        frozenset(reach.needs | files),
    )


def beside(obs: Observation) -> str:
    """The path of the file that an entry names: beside the log, or below it."""
    folder = os.path.dirname(obs.file) if obs.file != "-" else ""
    return os.path.join(folder, *obs.word.split("/"))


def _trials(log: SiteLog, own: list[Finding]) -> dict[tuple[str, int], Trial | Trouble]:
    """What the loggers' files named by a site's `series` entries gave; what is wrong goes to `own`."""
    found: dict[tuple[str, int], Trial | Trouble] = {}
    for obs in log.live_marks():
        if obs.kind != "series":
            continue
        from sitelog.files.trials.reading import read_trial
        from sitelog.files.trials.results import Trouble

        trial = read_trial(beside(obs), obs.what)
        found[obs.file, obs.line] = trial
        if isinstance(trial, Trouble):
            own.append(_trouble(obs, trial))
    return found


def _trouble(obs: Observation, trouble: Trouble) -> Finding:
    """What is wrong with a logger's file: at its own line, or at the entry that names it."""
    entry = obs.record.head.entry
    if trouble.line:
        return finding(
            "series-unreadable", trouble.message, trouble.file, trouble.line, 1, 2, help=trouble.help
        )
    slug = "series-missing" if trouble.absent else "series-unreadable"
    help = "put it beside the log" if trouble.absent else trouble.help
    message = f"{obs.word}: {trouble.message}"
    return finding(slug, message, obs.file, entry.number, entry.start + 1, entry.end + 1, entry.text, help)


def _signatures(log: Log, used: Sequence[Sequence[str]], own: list[Finding]) -> list[SignatureCheck]:
    """A log's signatures, tested; what is wrong with them goes to `own`."""
    held = signatures(log, used)
    own += broken(log, held)
    return held


def _name_sheet(
    one: NamedSheet,
    file: str,
    reach: Reach,
    sheets: dict[str, Sheet],
    used: dict[str, Sheet],
    own: list[Finding],
    say: Callable[[str, str, str], None],
) -> None:
    key = one.name.casefold()
    sheet = reach.sheet(one.name, one.revision)
    if sheet is None or (sheet.based_on and sheet.based_on.casefold() not in reach.sheets):
        reach.look_around(file)
        sheet = reach.sheet(one.name, one.revision)
    if sheet is None:
        reach.needs.add(ANY_SHEET)
        others = reach.sheets.get(key)
        if others:
            revisions = ", ".join(other.revision or "none" for other in others)
            say(
                "missing-sheet",
                f"`{one.name}` is asked in revision {one.revision}; in reach is revision {revisions}",
                "see which one the equipment has",
            )
        else:
            say("missing-sheet", f"no sheet `{one.name}` is in reach", _nearest(one.name, reach.sheets))
        return
    whole, more = reach.whole(sheet)
    own += more
    used[sheet.file] = sheet
    sheets[key] = whole


def _nearest(name: str, known: Iterable[str]) -> str:
    from difflib import get_close_matches

    close = get_close_matches(name.casefold(), list(known), 1, 0.5)
    return f"did you mean `{close[0]}`?" if close else "put its file beside the log or above it"

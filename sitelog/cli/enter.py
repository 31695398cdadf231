"""`sitelog enter`: adds one entry and answers at once. Exit status 0 (written), 1 (refused) or 2."""

from __future__ import annotations

import argparse
import contextlib
import datetime
import os
import re
import sys
from typing import TYPE_CHECKING, NamedTuple

from sitelog.cli.edges import add_time, add_today, complain, the_log, time_of, today_of, wants_color
from sitelog.language.kinds.kind import row_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sitelog.files.records import Log
    from sitelog.files.records.log import Line
    from sitelog.findings.finding import Finding
    from sitelog.fleet.workspace import Workspace
    from sitelog.judging.results import Result

# They speak of the log itself, not of a moment.
_NO_TIME = frozenset({"site", "sheet", "kit", "crew", "zone", "visit", "day"})
# Said when the whole log is read, but it is the line that is wrong and not the work.
_OF_ITS_OWN = frozenset({"strike-nothing", "strike-many"})
_KIND_WIDTH = 7
_HEADER = 4096  # bytes in which a log names its site


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `enter`."""
    parser.add_argument("entry", metavar="ENTRY", help='one entry in quotes, such as "did breaker-off"')
    log = "the log (default: the only one in this folder)"
    parser.add_argument("log", metavar="LOG", nargs="?", help=log)
    add_time(parser)
    add_today(parser)


class _RefusedError(Exception):
    """The entry is not written: why, and the line it would have been."""

    def __init__(self, findings: Sequence[Finding], help: str = "") -> None:
        super().__init__()
        self.findings = findings
        self.help = help


class _LogPlace(NamedTuple):
    """Where the entry was written, of which site, and the signature it stands below."""

    line: int
    text: str
    signed: str
    site: str


def run(args: argparse.Namespace) -> int:
    """Write the entry and print what is to be said of it; 0 written, 1 refused, 2 it cannot be done."""
    path = the_log(args.log)
    if path is None:
        return 2
    entry = args.entry.strip(" \t\r\n")
    if "\n" in entry or "\r" in entry:
        complain("an entry is one line; enter them one after the other")
        return 2
    try:
        place = _write(path, entry, time_of(args), today_of(args))
    except _RefusedError as refused:
        _print_refused(refused)
        return 1
    if place is None:
        complain(f"{path} is no log, so nothing can be entered there")
        return 2
    _answer(path, place, today_of(args))
    return 0


def _print_refused(refused: _RefusedError) -> None:
    from sitelog.views.findings import findings_text

    sys.stderr.write(findings_text(refused.findings, color=wants_color(sys.stderr)))
    complain(refused.help or "not written")


# ---- writing ------------------------------------------------------------------------------------------
def _write(path: str, entry: str, time: str, today: datetime.date) -> _LogPlace | None:
    """Append the entry, its day opened where that is another; where it stands then. None for no log."""
    from sitelog.cli.writing import change, with_lines
    from sitelog.files.records import read_log
    from sitelog.files.source import from_bytes

    written: _LogPlace | None = None

    def added(text: str) -> str:
        nonlocal written
        data = text.encode("utf-8", "surrogateescape")
        source = from_bytes(data, path)
        if source.role not in ("", "log") or data.startswith((b"\xff\xfe", b"\xfe\xff")):
            return text
        lines = _lines(read_log(source), entry, time, today)
        new = with_lines(text, lines)
        log = read_log(from_bytes(new.encode("utf-8", "surrogateescape"), path, "log"))
        number = len(source.lines) + len(lines)
        if wrong := _faults(log, number):
            raise _RefusedError(wrong)
        written = _LogPlace(number, lines[-1], _signed(log.lines, number), log.site)
        return new

    change(path, added)
    return written


def _lines(log: Log, entry: str, time: str, today: datetime.date) -> list[str]:
    """The lines that the entry makes: an empty line and a day in front of it where they are wanted."""
    from sitelog.language.syntax import parse_line

    read, _ = parse_line("log", entry, 1)
    if not read.kind:
        raise _RefusedError((), "there is nothing in it that could be entered")
    if read.kind == "?":  # refused with what is wrong with it as it was typed
        return [entry]
    if read.kind == "sign":
        raise _RefusedError((), _to_sign(entry))
    if read.kind in _NO_TIME:
        return ["", entry] if read.kind in ("visit", "day") and _wants_gap(log) else [entry]
    opened: list[str] = []
    dated = read.when is not None and read.when.tokens()[0].type == "DATE"
    if not dated and log.last_day != today:
        opened = [*([""] if _wants_gap(log) else []), f"day {today}"]
    if read.when is not None or read.body is None:
        return [*opened, entry]
    kind = entry[: read.body.tokens()[0].end]
    rest = entry[len(kind) :].lstrip(" \t")
    return [*opened, f"{time}  {kind:<{_KIND_WIDTH}} {rest}".rstrip()]


def _to_sign(entry: str) -> str:
    """How a signature is made: with its digest, and not over what is missing."""
    rest = re.split(r"\bsign\b", entry, maxsplit=1, flags=re.IGNORECASE)[-1]
    words = re.split(r"\s+(?:--|—|–)", rest)[0].split()
    who = words[0] if words else "WHO"
    purpose = f" --for {words[1]}" if len(words) > 1 else ""
    return f"not written; a signature is made by `sitelog sign {who}{purpose}`, which adds its digest"


def _wants_gap(log: Log) -> bool:
    """Whether an empty line belongs in front of a new day: not behind a `visit` and not at the top."""
    from sitelog.language.kinds.header import Visit

    return bool(log.lines) and not isinstance(log.lines[-1].record, Visit)


def _faults(log: Log, number: int) -> list[Finding]:
    """What is wrong with the line itself: it cannot be read, or it strikes what is not there."""
    from sitelog.judging.site import gather
    from sitelog.language.kinds.paper import Strike

    found = [finding for finding in log.findings if finding.line == number and finding.severity == "error"]
    last = log.lines[-1] if log.lines else None
    if not found and last is not None and last.entry.number == number and isinstance(last.record, Strike):
        site = gather(log.site, [log], (), ())
        found = [
            finding for finding in site.findings if finding.line == number and finding.slug in _OF_ITS_OWN
        ]
    return found


def _signed(lines: Sequence[Line], number: int) -> str:
    """The last signature above, in words; empty where there is none."""
    from sitelog.language.kinds.paper import Sign

    for line in reversed(lines):
        if isinstance(line.record, Sign) and line.entry.number < number:
            return f"{line.record.who} signed in line {line.entry.number} ({line.record.purpose})"
    return ""


# ---- answering -----------------------------------------------------------------------------------------
def _answer(path: str, place: _LogPlace, today: datetime.date) -> None:
    """What was written, what is the matter with it, how it is judged, and what comes next."""
    from sitelog.base.text import printable
    from sitelog.fleet.workspace import load
    from sitelog.views.findings import CAUTION, findings_text, headlines_text

    workspace = load([path, *_others(path, place.site)], today)
    color = wants_color(sys.stdout)
    sys.stdout.write(headlines_text(workspace.sites, color=color))
    print(f"{printable(path)}:{place.line}: {printable(place.text)}")
    if place.signed:
        print(f"{printable(place.signed)}; this stands below the signature")
    own = [finding for finding in workspace.findings if finding.line == place.line and finding.file == path]
    sys.stdout.write(findings_text(own, color=color))
    for line in _verdicts(workspace, path, place.line):
        print(printable(line))
    _print_next(workspace)
    print(CAUTION)


def _others(path: str, site: str) -> list[str]:
    """The other logs of the same site in the same folder: two crews, or an earlier visit."""
    from sitelog.files.source import role_of

    folder = os.path.dirname(path)
    line = rb"^[ \t]*site[ \t]+%s(?![^ \t\r\n])" % re.escape(site.encode())
    named = re.compile(line, re.IGNORECASE | re.MULTILINE)
    found: list[str] = []
    for name in sorted(os.listdir(folder or os.curdir)):
        other = os.path.join(folder, name)
        if role_of(name) != "log" or name.startswith(".") or not site or not os.path.isfile(other):
            continue
        with contextlib.suppress(OSError), open(other, "rb") as stream:
            if named.search(stream.read(_HEADER)) and not os.path.samefile(other, path):
                found.append(other)
    return found


def _verdicts(workspace: Workspace, path: str, line: int) -> list[str]:
    """The verdict on everything the line speaks of, places of one verdict together."""
    from sitelog.notation.places import compress

    groups: dict[tuple[str, str, str], list[Result]] = {}
    for site in workspace.judged:
        for result in site.results:
            obs = result.observation
            if obs is not None and obs.line == line and obs.file == path:
                kind = "" if row_of(result.kind).plain else result.kind
                about = f"{kind} {result.what}".strip()
                groups.setdefault((about, result.verdict, result.beside), []).append(result)
    found: list[str] = []
    for (about, verdict, beside), results in groups.items():
        places = compress(result.place for result in results if result.place)
        name = " ".join(filter(None, (about, places)))
        found.append(f"{name}: {verdict}" + (f"  ({beside})" if beside else ""))
    return found


def _print_next(workspace: Workspace) -> None:
    """The next open item in work order, with its caution above it."""
    from sitelog.base.text import printable
    from sitelog.views.findings import READY

    gaps = workspace.gaps()
    if not gaps:
        print(READY)
        return
    # What is undone comes next; what is done and wrong was said when it was entered, and `gaps` lists it.
    following = next((gap for gap in gaps if gap.severity == "info" and gap.stage != "to do"), gaps[0])
    if following.caution:
        print(f"caution: {printable(following.caution)}")
    stage = f"{following.stage}: " if following.stage else ""
    print(f"next ({len(gaps)} still to do): {printable(stage + following.text)}")

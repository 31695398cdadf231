"""`sitelog start`: writes a log to fill in from sheets. Exit status 0, 1 (a sheet has errors) or 2."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from sitelog.cli.edges import add_today, complain, today_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sitelog.files.records import Kit, Sheet
    from sitelog.findings.finding import Finding
    from sitelog.fleet.reach import Reach

_STDOUT = "-"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `start`."""
    where = "where sheets and kits are looked for besides the log's folder (default: this folder)"
    asks = 'a sheet: its name, "NAME revision R" or its file; may be given again'
    parser.add_argument("site", metavar="SITE", help="the name of the site")
    parser.add_argument("paths", metavar="PATH", nargs="*", default=["."], help=where)
    parser.add_argument("--sheet", metavar="S", action="append", required=True, dest="sheets", help=asks)
    parser.add_argument("--kit", metavar="K", help="the crew's kit; a tool is proposed where just one fits")
    crew = "who works there; the first is the lead; may be given again"
    parser.add_argument("--crew", metavar="NAME", action="append", default=[], help=crew)
    visits = ("install", "service", "removal")
    visit = "which visit the log is for (default: install)"
    parser.add_argument("--visit", choices=visits, default="install", help=visit)
    output = "the file to write (default: SITE.site; - prints it)"
    parser.add_argument("-o", "--output", metavar="FILE", help=output)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Write the log; 0 written, 1 a sheet has errors, 2 bad usage or the file is there already."""
    path = args.output or f"{args.site}.site"
    if wrong := _bad_names(args):
        complain(wrong)
        return 2
    if path != _STDOUT and os.path.lexists(path):
        complain(_is_there(path))
        return 2
    sheets, kit, findings = _found(args, path)
    if sheets is None:
        return 2
    errors = [finding for finding in findings if finding.severity == "error"]
    if errors:
        from sitelog.views.findings import findings_text

        sys.stderr.write(findings_text(errors))
        complain("not written: what the sheet asks cannot all be read; put it right first")
        return 1
    return _write(args, path, sheets, kit)


def _write(args: argparse.Namespace, path: str, sheets: list[Sheet], kit: Kit | None) -> int:
    from sitelog.base.text import printable
    from sitelog.cli.writing import create
    from sitelog.judging.blank_log import BLANK, Head, form
    from sitelog.views.findings import CAUTION

    head = Head(args.site, tuple(args.crew), args.visit, today_of(args))
    lines = form(head, sheets, kit, CAUTION)
    text = "".join(f"{line}\n" for line in lines)
    if path == _STDOUT:
        sys.stdout.write(text)
        return 0
    try:
        create(path, text)
    except FileExistsError:
        complain(_is_there(path))
        return 2
    blanks = sum(line.count(BLANK) for line in lines if not line.startswith("#"))
    steps = sum(line.startswith("# did") for line in lines)
    print(f"{printable(path)}: {blanks} blanks to fill in, {steps} steps to uncomment when they are done")
    print(CAUTION)
    return 0


def _is_there(path: str) -> str:
    return f"{path} is there already and was left as it is; name another file with -o"


def _bad_names(args: argparse.Namespace) -> str:
    """What is wrong with the names given; empty where a log can hold them."""
    from sitelog.files.records import read_log
    from sitelog.files.source import Source

    for kind, name in (("site", args.site), *(("crew", name) for name in args.crew)):
        log = read_log(Source("", "log", (f"{kind} {name}",)))
        wrong = [finding for finding in log.findings if finding.slug != "no-site"]
        entry = log.lines[0].entry if log.lines else None
        words = entry.body.tokens() if entry is not None and entry.body is not None else ()
        if wrong or len(words) != 2 or words[1].text != name or "," in name or not name.strip("_"):
            whose = "site" if kind == "site" else "person"
            return f"`{name}` is no name for a {whose}: take one word of letters and digits, such as quay-14"
    if args.output is None and os.path.basename(args.site) != args.site:
        return f"`{args.site}` cannot be a file's name; name the file with -o"
    return ""


# ---- sheets and kits ------------------------------------------------------------------------------------
def _found(args: argparse.Namespace, path: str) -> tuple[list[Sheet] | None, Kit | None, list[Finding]]:
    """The sheets, each with what it is based on, and the kit; None where not in reach, after a complaint."""
    from sitelog.files.records import assemble

    reach = _reach([*args.paths, *(name for name in args.sheets if os.path.isfile(name))], path)
    if reach is None:
        return None, None, []
    sheets: list[Sheet] = []
    findings: list[Finding] = []
    for wanted in args.sheets:
        sheet = _sheet(wanted, reach)
        if sheet is None:
            return None, None, []
        whole, more = assemble(sheet, {name: found[0] for name, found in reach.sheets.items() if found})
        findings += [*sheet.findings, *more]
        sheets.append(whole)
    if args.kit is None:
        return sheets, None, findings
    kits = reach.kits.get(args.kit.casefold())
    if not kits:
        names = [kit.name for same in reach.kits.values() for kit in same]
        complain(f"no kit `{args.kit}` is in reach{_known(args.kit, names)}")
        return None, None, []
    return sheets, kits[0], [*findings, *kits[0].findings]


def _reach(paths: list[str], path: str) -> Reach | None:
    """Every sheet and kit in the paths, in the new log's folder and above it."""
    from sitelog.files.records import read_kit, read_sheet
    from sitelog.files.source import discover, read
    from sitelog.fleet.reach import Reach

    files, findings = discover(paths)
    missing = [finding for finding in findings if finding.slug != "no-logs"]
    for finding in missing:
        complain(f"{finding.file}: {finding.message}")
    if missing:
        return None
    sources = [read(file) for file in files]
    sheets = [read_sheet(source) for source in sources if source.role == "sheet"]
    kits = [read_kit(source) for source in sources if source.role == "kit"]
    reach = Reach(sheets, kits, [])
    reach.look_around(path)
    return reach


def _sheet(wanted: str, reach: Reach) -> Sheet | None:
    """The sheet of a name, a name and revision, or a file; None where there is none, after a complaint."""
    everyone = [sheet for same in reach.sheets.values() for sheet in same]
    if os.path.isfile(wanted):
        real = os.path.realpath(wanted)
        found = [sheet for sheet in everyone if os.path.realpath(sheet.file) == real]
    else:
        words = wanted.split()
        name = words[0] if words else ""
        revision = words[2] if len(words) == 3 and words[1].casefold() == "revision" else ""
        same = [sheet for sheet in everyone if sheet.name.casefold() == name.casefold()]
        found = [sheet for sheet in same if not revision or sheet.revision.casefold() == revision.casefold()]
        if same and not found:
            revisions = ", ".join(sheet.revision or "none" for sheet in same)
            complain(f"`{name}` is in reach in revision {revisions} only")
            return None
    if len(found) > 1:
        names = (f'--sheet "{sheet.name} revision {sheet.revision}"' for sheet in found)
        complain(f"which one? {', '.join(names)}")
        return None
    if not found:
        complain(f"no sheet `{wanted}` is in reach{_known(wanted, (sheet.name for sheet in everyone))}")
    return found[0] if found else None


def _known(name: str, known: Iterable[str]) -> str:
    from difflib import get_close_matches

    names = [other for other in dict.fromkeys(known) if other]
    close = get_close_matches(name.casefold(), [other.casefold() for other in names], 1, 0.5)
    if close:
        return f"; did you mean `{next(one for one in names if one.casefold() == close[0])}`?"
    return f"; there are {', '.join(names)}" if names else "; name a folder that holds it"

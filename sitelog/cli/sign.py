"""`sitelog sign`: close what stands above with a signature. Exit status 0, 1 (refused) or 2."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from sitelog.cli.edges import add_time, add_today, complain, the_log, time_of, today_of

if TYPE_CHECKING:
    from sitelog.findings.finding import Finding
    from sitelog.judging.judged import Gap, Site

_MISSING = "signed-with-missing"  # what an earlier signature left open is a gap, not a reason of its own


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `sign`."""
    parser.add_argument("who", metavar="WHO", help="who signs, by the name in the crew")
    parser.add_argument(
        "log", metavar="LOG", nargs="?", help="the log (default: the only one in this folder)"
    )
    parser.add_argument(
        "--for",
        dest="purpose",
        metavar="PURPOSE",
        default="installed",
        help="installed, serviced, removed, or day-end, which leaves gaps open (default: installed)",
    )
    parser.add_argument(
        "--because", metavar="REASON", help="why it is signed although errors or gaps stand, or again"
    )
    add_time(parser)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Write the signature; 0 signed, 1 refused, 2 it cannot be done."""
    from sitelog.fleet.workspace import load

    path = the_log(args.log)
    if path is None:
        return 2
    workspace = load([path], today_of(args))
    if not workspace.readable or len(workspace.judged) != 1:
        complain(f"{path} is no log that can be signed" if workspace.readable else f"{path} cannot be read")
        return 2
    site = workspace.judged[0]
    why = _refusals(args, site, workspace.findings)
    if why and not args.because:
        for line in why:
            complain(line)
        complain(f'not signed; what stands can be signed all the same: sitelog sign {args.who} --because "…"')
        return 1
    number = _write(args, path, site)
    sys.stdout.write(f"{path}:{number}: signed by {args.who}, {args.purpose}\n")
    sys.stdout.write("The digest catches accidents and quiet edits, not a forger.\n")
    for gap in site.gaps[:1]:
        sys.stdout.write(f"signed with {len(site.gaps)} still to do, first of them: {gap.text}\n")
    return 0


def _refusals(args: argparse.Namespace, site: Site, findings: list[Finding]) -> list[str]:
    """Why it should not be signed: errors, gaps, or somebody who is no lead."""
    who = site.log.crew.get(args.who.casefold())
    found: list[str] = []
    if who is None or who.role != "lead":
        leads = ", ".join(person.name for person in site.log.crew.values() if person.role == "lead")
        found.append(f"{args.who} is no lead of this log" + (f"; {leads} may sign" if leads else ""))
    errors = [fault for fault in findings if fault.severity == "error" and fault.slug != _MISSING]
    found += [f"{fault.file}:{fault.line}: {fault.message}" for fault in errors]
    if args.purpose != "day-end":
        found += [f"{_where(gap)}still to do: {gap.text}" for gap in site.gaps if gap.severity != "error"]
    return list(dict.fromkeys(found))


def _where(gap: Gap) -> str:
    return f"{gap.stage}: " if gap.stage else ""


def _write(args: argparse.Namespace, path: str, site: Site) -> int:
    """Append the signature, under a day of its own where the log's last day is another; its line number."""
    from sitelog.cli.writing import change, line_end, with_lines
    from sitelog.files.records import read_log
    from sitelog.files.signatures import SignedFiles, digest_of, named_files
    from sitelog.files.source import from_bytes

    sheets, kits = [sheet.text for sheet in site.log.sheets], [kit.text for kit in site.log.kits]
    time = time_of(args)
    number = 0

    def signed(text: str) -> str:
        nonlocal number
        log = read_log(from_bytes(text.encode("utf-8", "surrogateescape"), path, "log"))
        day = today_of(args)
        opened = [] if log.last_day == day else ["", f"day {day}"]
        above = with_lines(text, opened)
        lines = [line.removesuffix("\r") for line in above.removesuffix(line_end(above)).split("\n")]
        number = len(lines) + 1
        because = f"  -- {' '.join(args.because.split())}" if args.because else ""
        own = f"{time}  sign    {args.who} {args.purpose}{because}"
        digest = digest_of(lines, own, SignedFiles(sheets, kits, named_files(log, number)))
        return with_lines(above, [f"{own}  {digest}"])

    change(path, signed)
    return number

"""`sitelog handover`: the page that owner, reviewer and inspector read. Exit status 0 written, or 2."""

from __future__ import annotations

import argparse
import os

from sitelog.cli.edges import add_today, complain, today_of
from sitelog.cli.pages import add_page, can_write, write
from sitelog.cli.printing import to_print
from sitelog.fleet.workspace import Workspace
from sitelog.judging.judged import Site


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `handover`."""
    parser.add_argument(
        "site", metavar="SITE", help="the name of a site among the logs, or the path of a log"
    )
    parser.add_argument(
        "paths",
        metavar="PATH",
        nargs="*",
        default=[],
        help="log, sheet or kit, or a folder of them (default: this folder, or the log named)",
    )
    add_page(parser)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Write the handover of one site; 0 written, 2 where it can't be."""
    if not can_write(args, "handover"):
        return 2
    browser = to_print(args)
    if browser is None:
        return 2
    from sitelog.fleet.workspace import load
    from sitelog.report.handover.cover import words_of

    workspace = load(_paths(args), today_of(args))
    site = _wanted(args.site, workspace)
    if site is None:
        return 2
    if not write(_written(site, workspace, args.format), args, browser):
        return 2
    where = f", written to {args.output}" if args.output is not None else ""
    sheets = ", ".join(site.summary.sheets) or "no sheet"
    complain(f"{site.name}: {words_of(site)[1].lower()} ({sheets}){where}")
    return 0


def _paths(args: argparse.Namespace) -> list[str]:
    if os.path.isfile(args.site):
        return [args.site, *args.paths]
    return args.paths or ["."]


def _wanted(name: str, workspace: Workspace) -> Site | None:
    """The site meant, or None where it is said why there is none."""
    if not workspace.readable:
        complain("no log could be read")
        return None
    for site in workspace.judged:
        if name in site.log.files or site.name.casefold() == name.casefold():
            return site
    if os.path.isfile(name):
        complain(f"{name} names no site")
        return None
    from difflib import get_close_matches

    names = [site.name for site in workspace.judged]
    close = get_close_matches(name.casefold(), [one.casefold() for one in names], 1, 0.5)
    near = next((one for one in names if close and one.casefold() == close[0]), "")
    hint = (
        f"did you mean `{near}`?"
        if near
        else f"there are: {', '.join(names[:8])}"
        if names
        else "there is none"
    )
    complain(f"no site `{name}`; {hint}")
    return None


def _written(site: Site, workspace: Workspace, form: str) -> str:
    if form == "markdown":
        from sitelog.report.handover import handover
        from sitelog.report.handover.markdown import markdown

        return markdown(handover(site, workspace.findings))
    from sitelog.report.handover.page import page_of

    return page_of(site, workspace.findings)

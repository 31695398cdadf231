"""`sitelog overview`: all sites on one page, and what needs a visit first. Exit status 0 written, or 2."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable
from typing import TYPE_CHECKING

from sitelog.cli.edges import add_paths, add_today, complain, today_of
from sitelog.cli.pages import add_page, can_write, write
from sitelog.cli.printing import to_print

if TYPE_CHECKING:
    import sitelog
    from sitelog.report.overview.document import Overview


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `overview`."""
    add_paths(parser)
    parser.add_argument(
        "--handovers",
        action="store_true",
        help="write the handover page of every site beside it, and link to them",
    )
    add_page(parser)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Write the overview; 0 written, 2 where it can't be."""
    if not can_write(args, "overview"):
        return 2
    if args.handovers and (args.output is None or args.format != "html" or args.pdf):
        complain("--handovers writes HTML pages beside the overview: name its file with -o, in HTML")
        return 2
    browser = to_print(args)
    if browser is None:
        return 2
    import sitelog
    from sitelog.cli.main import cache_folder

    logs = sitelog.load(args.paths, today_of(args), cache=cache_folder())
    if not logs.readable:
        complain("no log could be read")
        return 2
    sites = [str(row["site"]) for row in logs.ask("sites show site sort site")]
    if not sites:
        complain("no log among what was read names a site")
        return 2
    names = _page_names(sites)
    if args.handovers:
        from sitelog.cli.handovers import write_all

        write_all(args.paths, logs.today, os.path.dirname(args.output), names)
    facts = _facts(args, logs, names)
    if not write(_written(facts, args.format), args, browser):
        return 2
    _say(facts, args.output, len(names) if args.handovers else 0)
    return 0


def _page_names(sites: Iterable[str]) -> dict[str, str]:
    from sitelog.report.overview.pages import page_names

    return page_names(sites)


def _facts(args: argparse.Namespace, logs: sitelog.Logs, names: dict[str, str]) -> Overview:
    from urllib.parse import quote

    from sitelog.report.overview import overview

    # Printed pages and those on standard output lie nowhere that a link could start from.
    is_beside = args.output is not None and not args.pdf
    there = set(os.listdir(os.path.dirname(args.output) or os.curdir)) if is_beside else set()
    pages = {site: quote(name) for site, name in names.items() if name in there}
    headlines = {one.site: one.headlines for one in logs.loud}
    return overview(logs.ask, logs.today, headlines, pages, "sitelog overview --handovers -o overview.html")


def _written(facts: Overview, form: str) -> str:
    if form == "markdown":
        from sitelog.report.overview.markdown import markdown

        return markdown(facts)
    from sitelog.report.overview.page import page

    return page(facts)


def _say(facts: Overview, output: str | None, handovers: int) -> None:
    states = ", ".join(f"{one.number} {one.word}" for one in facts.states if one.number)
    beside = f", and {handovers} handover page{'s' * (handovers > 1)} beside it" if handovers else ""
    where = f", written to {output}{beside}" if output is not None else ""
    complain(f"{facts.sites} site{'s' * (facts.sites > 1)}: {states}{where}")

"""`sitelog check`: findings, then one summary row per site. Exit status 0, 1 (an error found) or 2."""

import argparse
import sys

from sitelog.cli.edges import Progress, add_paths, add_today, complain, processors, today_of, wants_color


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `check`."""
    add_paths(parser)
    parser.add_argument("--format", choices=("text", "json"), default="text", help="default: text")
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Print what there is to say about the paths; 0 no error, 1 some, 2 nothing readable."""
    from sitelog.fleet import check
    from sitelog.views import findings as views

    with Progress("logs checked") as progress:
        workspace = check(args.paths, today_of(args), processors(), progress)
    if args.format == "json":
        sys.stdout.write(views.as_json(workspace.findings, workspace.sites))
    else:
        color = wants_color(sys.stdout)
        parts = (
            views.headlines_text(workspace.sites, color=color),
            views.findings_text(workspace.findings, color=color),
            views.summary_text(workspace.sites),
        )
        if not any(parts):  # sheets and kits alone, and nothing wrong with them
            parts = ("", "no fault found in what was read, and no log among it\n", "")
        sys.stdout.write("\n".join((*filter(None, parts), views.CAUTION + "\n")))
    if not workspace.readable:
        complain("no log could be read")
        return 2
    return int(any(one.severity == "error" for one in workspace.findings))

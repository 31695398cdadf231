"""`sitelog gaps`: what a site still lacks. Exit status 0 (nothing), 1 (something) or 2."""

from __future__ import annotations

import sys

from sitelog.cli.edges import add_paths, add_today, complain, today_of, wants_color

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `gaps`."""
    add_paths(parser)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Print the gaps of every site; 0 nothing missing, 1 something is, 2 nothing readable."""
    from sitelog.fleet.workspace import load
    from sitelog.views.findings import CAUTION, headlines_text
    from sitelog.views.gaps import gaps_text

    workspace = load(args.paths, today_of(args))
    if not workspace.readable:
        complain("no log could be read")
        return 2
    color = wants_color(sys.stdout)
    gaps = workspace.gaps()
    sites = [site.site for site in workspace.sites]
    parts = (
        headlines_text(workspace.sites, color=color),
        gaps_text(sites, gaps, waits=workspace.waits(), color=color),
    )
    sys.stdout.write("\n".join((*filter(None, parts), CAUTION + "\n")))
    errors = sum(finding.severity == "error" for finding in workspace.findings)
    if errors:
        complain(f"{errors} error{'s' * (errors > 1)} found: see `sitelog check`")
    return int(bool(gaps))

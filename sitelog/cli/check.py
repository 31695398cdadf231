"""`sitelog check`: findings, then one summary row per site. Exit status 0, 1 (an error found) or 2."""

from __future__ import annotations

import sys

from sitelog.cli.edges import Progress, add_paths, add_today, complain, processors, today_of, wants_color

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse

    from sitelog.fleet.checking import Checked
    from sitelog.fleet.workspace import Workspace


_FORMATS = ("text", "json", "sarif", "junit")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `check`."""
    add_paths(parser)
    parser.add_argument("--format", choices=_FORMATS, default="text", help="default: text")
    parser.add_argument(
        "--plot", action="store_true", help="draw what each site measured against its limits, too"
    )
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Print what there is to say about the paths; 0 no error, 1 some, 2 nothing readable."""
    if args.plot and args.format != "text":
        complain("--plot draws below the text: leave --format out")
        return 2
    checked: Checked | Workspace
    if args.plot or args.format == "junit":
        from sitelog.fleet.workspace import load

        checked = load(args.paths, today_of(args))
        if args.plot:
            from sitelog.cli.plots import sites_text

            _print_text(checked, sites_text(checked.judged))
        else:
            _print_junit(checked)
    else:
        from sitelog.fleet.checking import check

        with Progress("logs checked") as progress:
            checked = check(args.paths, today_of(args), processors(), progress)
        _print(args.format, checked)
    if not checked.readable:
        complain("no log could be read")
        return 2
    return int(any(finding.severity == "error" for finding in checked.findings))


def _print(form: str, checked: Checked) -> None:
    if form == "sarif":
        import sitelog
        from sitelog.cli.explain import page_of
        from sitelog.views.sarif import as_sarif

        sys.stdout.writelines(as_sarif(checked.findings, sitelog.__version__, page_of))
    elif form == "json":
        from sitelog.views.findings import as_json

        sys.stdout.write(as_json(checked.findings, checked.sites))
    else:
        _print_text(checked)


def _print_text(checked: Checked | Workspace, drawn: str = "") -> None:
    from sitelog.views import findings as views

    color = wants_color(sys.stdout)
    parts: tuple[str, ...] = (
        views.headlines_text(checked.sites, color=color),
        views.findings_text(checked.findings, color=color),
        drawn,
        views.summary_text(checked.sites),
    )
    if not any(parts):  # sheets and kits alone, and nothing wrong with them
        parts = ("no fault found in what was read, and no log among it\n",)
    sys.stdout.write("\n".join((*filter(None, parts), views.CAUTION + "\n")))


def _print_junit(workspace: Workspace) -> None:
    from sitelog.cli.suites import suites_of
    from sitelog.views.junit import as_junit

    sys.stdout.writelines(as_junit(suites_of(workspace), workspace.today.isoformat()))

"""`sitelog trace`: what a tool's error or a recalled serial touches. Exit status 0, 1 (nothing) or 2."""

from __future__ import annotations

import argparse
import datetime
import sys

from sitelog.cli.edges import add_today, complain, read_day, today_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sitelog.fleet.workspace import Workspace


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `trace`."""
    parser.add_argument(
        "what", choices=("tool", "serial"), help="a tool by its name, or a serial or range of serials"
    )
    parser.add_argument("name", metavar="NAME", help="such as TW3, QX2607-00418, QX2607-00400..QX2607-00450")
    parser.add_argument(
        "paths", metavar="PATH", nargs="*", help="folders of logs, sheets and kits (default: this folder)"
    )
    parser.add_argument(
        "--error",
        metavar="E",
        help="the tool's error of indication, +6 %% where it showed 6 %% more than there was "
        "(default: as its newest calibration found)",
    )
    parser.add_argument("--since", metavar="D", type=read_day, help="only what was done from this day on")
    parser.add_argument("--until", metavar="D", type=read_day, help="only what was done up to this day")
    parser.add_argument("--kit", metavar="K", help="the kit, where two have a tool of this name")
    parser.add_argument("--format", choices=("text", "json"), default="text", help="default: text")
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Print what is touched on every site; 0 something, 1 nothing, 2 it cannot be told."""
    from sitelog.fleet.workspace import load

    workspace = load(args.paths or ["."], today_of(args))
    if not workspace.readable:
        complain("no log could be read")
        return 2
    return _serial(args, workspace) if args.what == "serial" else _tool(args, workspace)


def _serial(args: argparse.Namespace, workspace: Workspace) -> int:
    from sitelog.judging.trace import serial_range, whereabouts
    from sitelog.views.trace import serial_json, serial_text

    wanted = serial_range(args.name)
    if isinstance(wanted, str):
        complain(wanted)
        return 2
    found = whereabouts(workspace.judged, wanted)
    sys.stdout.write(serial_json(found) if args.format == "json" else serial_text(args.name, found))
    return 0 if found else 1


def _tool(args: argparse.Namespace, workspace: Workspace) -> int:
    from sitelog.judging.trace import IndicationError, find_tool, found_error, percent, touched
    from sitelog.views.trace import tool_json, tool_text

    tools = [
        (tool, calibrations)
        for tool, calibrations in find_tool(workspace.kits, args.name)
        if args.kit is None or tool.kit == args.kit
    ]
    if not tools:
        names = sorted({tool.name for kit in workspace.kits for tool in kit.tools.values()})
        complain(
            f"no tool `{args.name}` in the kits read" + (f"; there are: {', '.join(names)}" if names else "")
        )
        return 2
    if len(tools) > 1:
        kits = ", ".join(tool.kit for tool, _ in tools)
        complain(f"`{args.name}` is in more than one kit ({kits}): say which with --kit")
        return 2
    tool, calibrations = tools[0]
    since: datetime.date | None = args.since
    until: datetime.date | None = args.until
    if args.error is not None:
        share = percent(args.error)
        if isinstance(share, str):
            complain(share)
            return 2
        newest = calibrations[-1].uncertainty if calibrations else None
        error = IndicationError(((0.0, share),), newest, since, until)
    else:
        found_by_calibration = found_error(calibrations)
        if found_by_calibration is None:
            complain(f"no calibration of {tool.name} says what it found; give the error with --error")
            return 2
        error = found_by_calibration._replace(
            since=since or found_by_calibration.since, until=until or found_by_calibration.until
        )
    found = list(touched(workspace.judged, tool, error))
    sys.stdout.write(tool_json(found) if args.format == "json" else tool_text(tool.name, error, found))
    return 0 if found else 1

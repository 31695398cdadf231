"""What several commands share at the edges: paths, today, colour, and complaints to stderr."""

import argparse
import datetime
import os
import sys
from typing import TextIO

from sitelog.views.plain import printable


def add_paths(parser: argparse.ArgumentParser) -> None:
    """PATH ...: files and folders; the folder the command is run in where none is given."""
    parser.add_argument(
        "paths",
        metavar="PATH",
        nargs="*",
        default=["."],
        help="log, sheet or kit, or a folder of them; - reads standard input (default: this folder)",
    )


def add_today(parser: argparse.ArgumentParser) -> None:
    """--today: the day to judge by, so that a result can be had again later."""
    parser.add_argument(
        "--today",
        metavar="D",
        type=read_day,
        default=None,
        help="the day to judge by, as 2026-03-02 (default: today)",
    )


def today_of(args: argparse.Namespace) -> datetime.date:
    """The day given by --today, else the clock's."""
    given: datetime.date | None = args.today
    return given if given is not None else datetime.date.today()


def wants_color(stream: TextIO) -> bool:
    """Colour only on a terminal, and never with NO_COLOR set to anything."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def complain(message: str) -> None:
    """One line on stderr."""
    print(f"sitelog: {printable(message)}", file=sys.stderr)


def read_day(text: str) -> datetime.date:
    """A day of the command line, as 2026-03-02."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no day; write it as 2026-03-02") from None

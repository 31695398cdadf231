"""What several commands share at the edges: paths, today, colour, and complaints to stderr."""

from __future__ import annotations

import datetime
import os
import sys
import time

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse
    from typing import TextIO


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


def processors() -> int:
    """How many processes can run at once here."""
    if hasattr(os, "sched_getaffinity"):  # a container may be given fewer than the machine has
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Progress:
    """How far long work has come, on stderr where that is a terminal; nothing in the first second."""

    def __init__(self, of_what: str) -> None:
        self._of_what = of_what
        self._shown = False
        self._start = time.monotonic()

    def __call__(self, done: int, whole: int) -> None:
        """So many of so many are done."""
        if sys.stderr.isatty() and time.monotonic() - self._start > 1:
            self._shown = True
            sys.stderr.write(f"\r{done} of {whole} {self._of_what}")
            sys.stderr.flush()

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self._shown:
            sys.stderr.write("\r\033[K")
            sys.stderr.flush()


def complain(message: str) -> None:
    """One line on stderr."""
    from sitelog.base.text import printable

    print(f"sitelog: {printable(message)}", file=sys.stderr)


def read_day(text: str) -> datetime.date:
    """A day of the command line, as 2026-03-02."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        from argparse import ArgumentTypeError

        raise ArgumentTypeError(f"{text!r} is no day; write it as 2026-03-02") from None


def add_time(parser: argparse.ArgumentParser) -> None:
    """--time: the time of day to write."""
    parser.add_argument("--time", metavar="HH:MM", type=_read_time, help="the time to write (default: now)")


def time_of(args: argparse.Namespace) -> str:
    """The time given by --time, else the clock's."""
    given: str | None = args.time
    return given if given is not None else datetime.datetime.now().strftime("%H:%M")


def _read_time(text: str) -> str:
    import re
    from argparse import ArgumentTypeError

    if re.fullmatch(r"([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?", text) is None:
        raise ArgumentTypeError(f"{text!r} is no time; write it as 08:05")
    return text


def the_log(given: str | None) -> str | None:
    """The log named, or the only one in this folder; None where there is no such log, after a complaint."""
    if given is not None:
        if os.path.isfile(given):
            return given
        complain(f"{given}: no such log")
        return None
    names = os.listdir(os.curdir)
    found = sorted(name for name in names if name.endswith((".site", ".site.txt")) and name[0] != ".")
    if len(found) == 1:
        return found[0]
    complain("name the log: " + (", ".join(found) if found else "there is none in this folder"))
    return None

"""The command `sitelog`: finds the command asked for and runs it; nothing it need not load is loaded."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from io import TextIOWrapper

import sitelog
from sitelog.base.frozen import NamedTuple

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse
    from types import SimpleNamespace
    from typing import Any


class Command(NamedTuple):
    """One command: its module (with `add_arguments(parser)` and `run(args) -> int`), and its help."""

    module: str
    summary: str
    example: str


COMMANDS: dict[str, Command] = {
    "check": Command(
        "sitelog.cli.check",
        "read logs, sheets and kits; say what is wrong, then one row per site",
        "sitelog check example_logs",
    ),
    "gaps": Command(
        "sitelog.cli.gaps",
        "what a site still lacks, in work order",
        "sitelog gaps quay-14.site",
    ),
    "ask": Command(
        "sitelog.cli.ask",
        "answer a question about one site or many",
        'sitelog ask "joints under torque" example_logs',
    ),
    "start": Command(
        "sitelog.cli.start",
        "write a log to fill in from what a sheet asks; never overwrites",
        "sitelog start hill-9 --sheet gandle-3 --kit north-van --crew lo example_logs",
    ),
    "enter": Command(
        "sitelog.cli.enter",
        "add one entry with the day and the time, and show its verdict and what comes next",
        'sitelog enter "torque clamp-1..2 16.0 16.1 Nm with W2" quay-14.site',
    ),
    "tidy": Command(
        "sitelog.cli.tidy",
        "line up logs, sheets and kits without changing what they say",
        "sitelog tidy --diff example_logs",
    ),
    "sign": Command(
        "sitelog.cli.sign",
        "close what stands above with a signature and its digest",
        "sitelog sign mo quay-14.site --for installed",
    ),
    "handover": Command(
        "sitelog.cli.handover",
        "write the page of one site for owner, reviewer and inspector: HTML or Markdown",
        "sitelog handover quay-14 -o quay-14.html",
    ),
    "overview": Command(
        "sitelog.cli.overview",
        "write one page of all sites: what needs a visit first, defects, tools, joints, drifting readings",
        "sitelog overview example_logs -o overview.html",
    ),
    "trace": Command(
        "sitelog.cli.trace",
        "what a tool's error or a recalled serial touches, on every site, judged again",
        "sitelog trace tool TW3 --error '+6 %' example_logs",
    ),
    "changes": Command(
        "sitelog.cli.changes",
        "what commits changed in meaning: verdicts, entries, signatures, sheets and kits",
        "sitelog changes HEAD~3..HEAD example_logs",
    ),
    "explain": Command(
        "sitelog.cli.explain",
        "what a finding means and how to clear it; the language, the units, the questions",
        "sitelog explain torque",
    ),
}

BAD_USAGE = 2
INTERRUPTED = 130  # 128 + SIGINT, as shells report it
BROKEN_PIPE = 141  # 128 + SIGPIPE


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a terminal that has no Ω shows \u03a9 and goes on
            stream.reconfigure(errors="backslashreplace")
    collecting = gc.isenabled()
    gc.disable()  # a command makes records by the hundred thousand and no cycles of them, and then ends
    try:
        status = _dispatch(arguments)
        sys.stdout.flush()
    except SystemExit as end:  # how argparse ends: 0 after help, 2 after bad usage
        return end.code if isinstance(end.code, int) else BAD_USAGE
    except BrokenPipeError:
        # Whoever read our output has closed it. Python would complain once more while ending.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _end("the output was closed before its end", BROKEN_PIPE)
    except KeyboardInterrupt:
        return _end("stopped", INTERRUPTED)
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        return _end(f"{where}{error.strerror or error}", BAD_USAGE)
    except MemoryError:
        return _end("not enough memory for these files", BAD_USAGE)
    finally:
        if collecting:
            gc.enable()
    return status


def _end(message: str, status: int) -> int:
    from sitelog.base.text import printable

    print(f"sitelog: {printable(message)}", file=sys.stderr)
    return status


def _dispatch(arguments: list[str]) -> int:
    if arguments and arguments[0] in COMMANDS:
        name = arguments[0]
        keeping = keep_tables(asking=name in ("ask", "overview"))
        module = _module(name)
        status: int = module.run(understood(name, arguments[1:]))
        if keeping and "sitelog.language.syntax" in sys.modules:  # else no line was read
            from sitelog.language.syntax import save_plans

            save_plans()
        return status
    parser = _top_parser()
    if arguments and not arguments[0].startswith("-"):
        parser.error(_unknown(arguments[0]))
    parser.parse_args(arguments)
    parser.print_help(sys.stderr)
    return BAD_USAGE


def _module(name: str) -> Any:
    """The module of a command; `importlib` would load more than that."""
    module = COMMANDS[name].module
    __import__(module)
    return sys.modules[module]


def understood(name: str, words: list[str]) -> argparse.Namespace | SimpleNamespace:
    """What the words behind a command's name say; SystemExit after help or where they are wrong."""
    from sitelog.cli.words import Plain

    add_arguments = _module(name).add_arguments
    plain = Plain()
    add_arguments(plain)
    said = plain.understood(words)
    if said is not None:
        return said
    parser = _parser(name)
    add_arguments(parser)
    return parser.parse_intermixed_args(words)


def _parser(name: str) -> argparse.ArgumentParser:
    import argparse

    command = COMMANDS[name]
    return argparse.ArgumentParser(
        prog=f"sitelog {name}",
        description=f"{command.summary[0].upper()}{command.summary[1:]}.",
        epilog=f"example: {command.example}",
        formatter_class=_formatter,
    )


def _formatter(prog: str) -> argparse.HelpFormatter:
    """Help as wide as the terminal. The width is passed in: argparse loads `shutil` to find it out."""
    try:
        columns = int(os.environ.get("COLUMNS", "0")) or os.get_terminal_size().columns
    except (ValueError, OSError):
        columns = 80
    import argparse

    return argparse.HelpFormatter(prog, width=(columns or 80) - 2)


def keep_tables(asking: bool = False) -> bool:
    """Keep what the grammars compile to in the user's cache folder, so that the next start is quick.

    False where nothing can be kept.
    """
    folder = cache_folder()
    if not folder:
        return False
    try:
        os.makedirs(folder, exist_ok=True)
    except OSError:
        return False
    if not os.access(folder, os.W_OK):
        return False
    from sitelog.base import cache_files

    cache_files.keep_in(folder)
    if "sitelog.language.syntax" in sys.modules:  # loaded before, in this process
        from sitelog.language.syntax import use_cache

        use_cache(folder)
    if asking:
        from sitelog.asking.question import grammar

        grammar.use_cache(folder)
    return True


def cache_folder() -> str:
    """The folder in which things are kept between runs; empty where nothing is to be kept."""
    folder = os.environ.get("SITELOG_CACHE")
    if folder is None:
        home = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
        folder = os.path.join(home, "sitelog")
    return folder


def _top_parser() -> argparse.ArgumentParser:
    import argparse

    width = max(map(len, COMMANDS))
    listing = "\n".join(f"  {name:<{width}}  {command.summary}" for name, command in COMMANDS.items())
    parser = argparse.ArgumentParser(
        prog="sitelog",
        usage="sitelog COMMAND [PATH ...]",
        description="The site log of the installer of wall-mounted battery storage.",
        epilog=f"commands:\n{listing}\n\n`sitelog COMMAND --help` tells more, with an example.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"sitelog {sitelog.__version__}")
    return parser


def _unknown(word: str) -> str:
    from difflib import get_close_matches

    nearest = get_close_matches(word.lower(), COMMANDS, 1)
    hint = f"did you mean `{nearest[0]}`?" if nearest else f"there are: {', '.join(COMMANDS)}"
    return f"no command `{word}`; {hint}"

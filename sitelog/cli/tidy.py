"""`sitelog tidy`: lines up logs, sheets and kits. Exit status 0, 1 (`--check` found something) or 2."""

from __future__ import annotations

import argparse
import sys

from sitelog.cli.edges import add_paths, complain

_STDIN = "-"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `tidy`."""
    add_paths(parser)
    parser.add_argument("--diff", action="store_true", help="print what would change, and write nothing")
    parser.add_argument("--check", action="store_true", help="only name the files that would change")


def run(args: argparse.Namespace) -> int:
    """Line up the files of the paths; 0 done, 1 `--check` found something, 2 a file could not be had."""
    from sitelog.files.source import discover

    files, findings = discover(args.paths)
    for finding in findings:
        complain(f"{finding.file}: {finding.message}")
    status = 2 if findings else 0
    changed = 0
    for file in files:
        try:
            changed += _tidy(file, diff=args.diff, check=args.check)
        except (BrokenPipeError, KeyboardInterrupt):
            raise
        except OSError as error:
            complain(f"{error.filename or file}: {error.strerror or error}")
            status = 2
    if not args.diff and not args.check and files != [_STDIN]:
        print(f"{changed} of {len(files)} file{'s' * (len(files) != 1)} lined up")
    return status or int(args.check and changed > 0)


def _tidy(file: str, *, diff: bool, check: bool) -> bool:
    """Line up one file, or only compare; whether it changes, or would."""
    from sitelog.cli.writing import change
    from sitelog.files.tidying import tidied

    if file == _STDIN:
        old = sys.stdin.buffer.read().decode("utf-8", "surrogateescape")
    elif diff or check:
        with open(file, "rb") as stream:
            old = stream.read().decode("utf-8", "surrogateescape")
    else:
        changed = change(file, lambda text: _lined_up(text, file))
        if changed:
            print(_shown(file))
        return changed
    new = _lined_up(old, file) if file != _STDIN else tidied(old, file)
    if diff:
        _print_diff(file, old, new)
    elif check and new != old:
        print(_shown(file))
    elif not check:  # standard input goes to standard output
        sys.stdout.flush()
        sys.stdout.buffer.write(new.encode("utf-8", "surrogateescape"))
        sys.stdout.buffer.flush()
    return new != old


def _lined_up(text: str, file: str) -> str:
    from sitelog.files.tidying import UTF_16, tidied

    if text.encode("utf-8", "surrogateescape").startswith(UTF_16):
        raise OSError(0, "the file is UTF-16, not UTF-8, and was left as it is", file)
    return tidied(text, file)


def _print_diff(file: str, old: str, new: str) -> None:
    from difflib import unified_diff

    raw = not sys.stdout.isatty()
    for line in unified_diff(_ended(old), _ended(new), file, file):
        text = line.removesuffix("\n")
        print(text if raw else _shown(text))
        if not line.endswith("\n"):
            print("\\ No newline at end of file")


def _ended(text: str) -> list[str]:
    """The lines with their ends; a last one without an end has none here either."""
    lines = [f"{line}\n" for line in text.split("\n")]
    lines[-1] = lines[-1].removesuffix("\n")
    return lines if lines[-1] else lines[:-1]


def _shown(text: str) -> str:
    from sitelog.base.text import printable

    return printable(text)

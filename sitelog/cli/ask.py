"""`sitelog ask`: a question about one site or many. Exit status 0 (rows), 1 (none) or 2 (an error)."""

from __future__ import annotations

import sys
import time

from sitelog.cli.edges import add_today, complain, processors, today_of, wants_color

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    import sitelog
    from sitelog.asking.question.errors import QuestionError
    from sitelog.judging.judged import Summary
    from sitelog.views.rows import Heading, Row

_SECONDS = 30  # that a person's own SQL may take

_FORMATS = ("table", "lines", "json", "csv", "markdown")
_FOR_PEOPLE = ("table", "markdown")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `ask`."""
    parser.add_argument("question", nargs="?", help='one line in quotes, such as "joints under torque"')
    parser.add_argument(
        "paths",
        metavar="PATH",
        nargs="*",
        help="log, sheet or kit, or a folder of them; - reads standard input (default: this folder)",
    )
    parser.add_argument("--format", choices=_FORMATS, default="table", help="default: table")
    parser.add_argument(
        "--plot", action="store_true", help="draw the values against their limits, counts as bars"
    )
    parser.add_argument(
        "--explain", action="store_true", help="show how the question is understood, and its SQL"
    )
    parser.add_argument("--fields", metavar="SUBJECT", help="list the fields of a subject, such as joints")
    parser.add_argument("--sql", metavar="SELECT", help="your own SQL, reading only, instead of a question")
    parser.add_argument(
        "--as-of", metavar="REV", help="ask among the files as they were in a revision, such as HEAD~3"
    )
    parser.add_argument(
        "--no-index", action="store_true", help="read every file anew; keep nothing of them for the next time"
    )
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Answer the question; 0 with rows, 1 with none, 2 where it cannot be answered."""
    if args.fields is not None:
        return _fields(args.fields)
    if args.plot and (args.format != "table" or args.sql is not None):
        complain("--plot draws the answer to a question: leave --format and --sql out")
        return 2
    return _as_of(args) if args.as_of is not None else _ask(args)


def _as_of(args: argparse.Namespace) -> int:
    """The same question, among the files as they were in a revision."""
    from sitelog.cli.revisions import RevisionError, at_revision

    # Beside --sql there is no question: the first word behind it is a path too.
    is_path = args.sql is not None and args.question is not None
    paths = ([args.question] if is_path else []) + args.paths
    try:
        with at_revision(args.as_of, paths or ["."]) as args.paths:
            args.question = None if is_path else args.question
            args.no_index = True  # the folder it is laid out in is never seen again
            return _ask(args)
    except RevisionError as error:
        complain(str(error))
        return 2


def _ask(args: argparse.Namespace) -> int:
    if args.sql is not None:
        return _sql(args)
    if args.question is None:
        complain('a question is wanted, such as `sitelog ask "joints under torque"`')
        return 2
    return _answer(args)


def _load(args: argparse.Namespace, paths: Sequence[str]) -> sitelog.Logs:
    import sitelog
    from sitelog.cli.main import cache_folder

    cache = "" if args.no_index else cache_folder()
    return sitelog.load(paths or ["."], today_of(args), cache=cache, processors=processors())


def _answer(args: argparse.Namespace) -> int:
    from sitelog.asking.question.errors import QuestionError
    from sitelog.asking.question.read import parse
    from sitelog.asking.subjects import SUBJECTS

    try:
        question = parse(args.question, SUBJECTS)  # a slip is said before a fleet of logs is read
        shown = [one.field.text.lower() for one in question.show]
        if args.plot:
            from sitelog.cli.plots import drawable

            question = drawable(question)
        logs = _load(args, args.paths)
        if not logs.readable:
            complain("no log could be read")
            return 2
        return _print(args, logs.ask(question), shown)
    except QuestionError as error:
        sys.stderr.write(question_error_text(args.question, error))
        return 2


def _print(args: argparse.Namespace, found: sitelog.Answer, shown: Sequence[str]) -> int:
    if args.explain:
        from sitelog.asking.question.tree import outline

        print(outline(found.tree))
        print(f"\n{found.query.sql}\nparameters: {list(found.query.params)}")
        return 0
    if args.format == "lines" and not found.lines:
        complain("a count or a share stands in no line: ask for the rows themselves, or for another format")
        return 2
    if args.plot:
        from sitelog.cli.plots import NothingToDrawError, answer_text

        try:
            _print_drawn(found, answer_text(found, shown))
        except NothingToDrawError as error:
            complain(str(error))
            return 2
    else:
        _print_rows(args.format, found.logs.loud, found.columns, found)
    if found.undecided:
        rows = "row is" if found.undecided == 1 else "rows are"
        complain(f"{found.undecided} {rows} left out: a value such as `>999` does not decide the question")
    errors = found.logs.errors
    if errors:
        complain(f"{errors} error{'s' * (errors > 1)} found: see `sitelog check`")
    return 0 if found else 1


def _print_rows(form: str, sites: Sequence[Summary], columns: Sequence[Heading], rows: Sequence[Row]) -> None:
    from sitelog.views.findings import CAUTION, headlines_text
    from sitelog.views.rows import FORMATS, as_table, markdown_text

    # What stands above everything else goes beside the answer where a program reads the answer.
    for_people = form in _FOR_PEOPLE
    head = sys.stdout if for_people else sys.stderr
    headlines = headlines_text(sites, color=form == "table" and wants_color(head))
    if form == "markdown" and headlines:
        headlines = "".join(f"{markdown_text(line)}\n\n" for line in headlines.splitlines())
    head.write(headlines)
    is_seen = sys.stdout.isatty()
    if form == "table":
        sys.stdout.write(as_table(columns, rows, _columns() if is_seen else 0))
    else:
        sys.stdout.write(FORMATS[form](columns, rows))
    if for_people and rows:
        sys.stdout.write(f"\n{CAUTION}\n")
    if is_seen and not rows:
        print("none", file=sys.stderr)


def _print_drawn(found: sitelog.Answer, text: str) -> None:
    from sitelog.views.findings import CAUTION, headlines_text

    sys.stdout.write(headlines_text(found.logs.loud, color=wants_color(sys.stdout)))
    if text:
        sys.stdout.write(f"{text}\n{CAUTION}\n")
    elif sys.stdout.isatty():
        print("none", file=sys.stderr)


def _columns() -> int:
    """How wide the terminal is."""
    import shutil

    return shutil.get_terminal_size().columns


def _sql(args: argparse.Namespace) -> int:
    from sitelog.asking.store import StatementError

    if args.format == "lines":
        complain("rows of your own SQL stand in no line: take another format")
        return 2
    # Beside --sql there is no question: the first word behind it is a path too.
    paths = ([args.question] if args.question is not None else []) + args.paths
    logs = _load(args, paths)
    if not logs.readable:
        complain("no log could be read")
        return 2
    end = time.monotonic() + _SECONDS
    try:
        found = logs.query(args.sql, is_late=lambda: time.monotonic() > end)
    except StatementError as error:
        complain(f"the SQL cannot be run: {error}")
        return 2
    _print_rows(args.format, logs.loud, found.columns, found.rows)
    return 0 if found.rows else 1


def _fields(name: str) -> int:
    from sitelog.asking.question.errors import did_you_mean, listed
    from sitelog.asking.subjects import SUBJECTS
    from sitelog.views.fields import fields_text

    subject = SUBJECTS.get(name.lower())
    if subject is None:
        hint = did_you_mean(name, SUBJECTS, f"there are {listed(SUBJECTS)}")
        complain(f"there is nothing called `{name}`; {hint}")
        return 2
    sys.stdout.write(fields_text(subject))
    return 0


def question_error_text(question: str, error: QuestionError) -> str:
    """The message, the question, a caret under what is meant, and what can be done."""
    from sitelog.base.text import printable

    before, marked = question[: error.column - 1], question[error.column - 1 : error.end_column - 1]
    lines = [
        f"question:{error.column}: error: {printable(error.message)}",
        f"    {printable(question)}",
        f"    {' ' * len(printable(before))}{'^' * max(len(printable(marked)), 1)}",
    ]
    if error.help:
        lines.append(f"help: {printable(error.help)}")
    return "".join(f"{line}\n" for line in lines)

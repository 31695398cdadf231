"""`sitelog ask`: a question about one site or many. Exit status 0 (rows), 1 (none) or 2 (an error)."""

from __future__ import annotations

import sys
import time
from contextlib import contextmanager

from sitelog.base.frozen import NamedTuple
from sitelog.cli.edges import add_today, complain, processors, today_of, wants_color

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Sequence
    from datetime import date

    import sitelog
    from sitelog.asking.question.errors import QuestionError
    from sitelog.judging.judged import Summary
    from sitelog.views.rows import Heading, RowLike

_SECONDS = 30  # that a person's own SQL may take

_FORMATS = ("table", "lines", "json", "csv", "markdown")
_FOR_PEOPLE = ("table", "markdown")


class AskOptions(NamedTuple):
    """What a command line of `ask` says: one of `question` and `sql`, and how to answer it."""

    question: str
    sql: str | None
    paths: list[str]
    revision: str | None
    today: date
    form: str
    plot: bool
    explain: bool
    use_index: bool


class _UsageError(Exception):
    """The command line cannot be obeyed; says why."""


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
    try:
        options = _options(args)
        with _files(options) as paths:
            return _answer(options, paths) if options.sql is None else _query(options, options.sql, paths)
    except _UsageError as error:
        complain(str(error))
        return 2


def _options(args: argparse.Namespace) -> AskOptions:
    """What the arguments say; raises `_UsageError` where they contradict each other or lack a question."""
    if args.plot and (args.format != "table" or args.sql is not None):
        raise _UsageError("--plot draws the answer to a question: leave --format and --sql out")
    if args.sql is None and args.question is None:
        raise _UsageError('a question is wanted, such as `sitelog ask "joints under torque"`')
    if args.sql is not None and args.format == "lines":
        raise _UsageError("rows of your own SQL stand in no line: take another format")
    # Beside --sql there is no question: the first word behind it is a path too.
    is_path = args.sql is not None and args.question is not None
    return AskOptions(
        args.question or "",
        args.sql,
        ([args.question] if is_path else []) + args.paths or ["."],
        args.as_of,
        today_of(args),
        args.format,
        args.plot,
        args.explain,
        not args.no_index and args.as_of is None,  # the folder of a revision is never seen again
    )


@contextmanager
def _files(options: AskOptions) -> Iterator[Sequence[str]]:
    """The paths to read: those of the command line, or where they are laid out as they were in a revision."""
    if options.revision is None:
        yield options.paths
        return
    from sitelog.cli.revisions import RevisionError, at_revision

    try:
        with at_revision(options.revision, options.paths) as paths:
            yield paths
    except RevisionError as error:
        raise _UsageError(str(error)) from None


def _load(options: AskOptions, paths: Sequence[str]) -> sitelog.Logs:
    import sitelog
    from sitelog.cli.main import cache_folder

    cache = cache_folder() if options.use_index else ""
    logs = sitelog.load(paths, options.today, cache=cache, processors=processors())
    if not logs.readable:
        raise _UsageError("no log could be read")
    return logs


# ---- a question ------------------------------------------------------------------------------------
def _answer(options: AskOptions, paths: Sequence[str]) -> int:
    from sitelog.asking.question.errors import QuestionError
    from sitelog.asking.question.request import request_of

    try:
        request = request_of(options.question, options.today)  # a slip is said before logs are read
        shown = [item.field.text.lower() for item in request.question.show]
        if options.plot:
            from sitelog.cli.plots import drawable

            request = drawable(request)
        answer = _load(options, paths).ask(request)
    except QuestionError as error:
        sys.stderr.write(question_error_text(options.question, error))
        return 2
    if options.explain:
        from sitelog.asking.question.tree import outline

        print(outline(answer.tree))
        print(f"\n{answer.query.sql}\nparameters: {list(answer.query.params)}")
        return 0
    if options.form == "lines" and not answer.lines:
        raise _UsageError(
            "a count or a share stands in no line: ask for the rows themselves, or for another format"
        )
    if options.plot:
        _print_drawn(answer, shown)
    else:
        _print_rows(options.form, answer.logs.loud, answer.columns, answer)
    if answer.undecided:
        rows = "row is" if answer.undecided == 1 else "rows are"
        complain(f"{answer.undecided} {rows} left out: a value such as `>999` does not decide the question")
    for note in answer.notes:
        complain(note)
    errors = answer.logs.errors
    if errors:
        complain(f"{errors} error{'s' * (errors > 1)} found: see `sitelog check`")
    return 0 if answer else 1


def _print_drawn(answer: sitelog.Answer, shown: Sequence[str]) -> None:
    from sitelog.cli.plots import NothingToDrawError, answer_text
    from sitelog.views.findings import CAUTION, headlines_text

    try:
        text = answer_text(answer, shown)
    except NothingToDrawError as error:
        raise _UsageError(str(error)) from None
    sys.stdout.write(headlines_text(answer.logs.loud, color=wants_color(sys.stdout)))
    if text:
        sys.stdout.write(f"{text}\n{CAUTION}\n")
    elif sys.stdout.isatty():
        print("none", file=sys.stderr)


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


# ---- a person's own SQL ----------------------------------------------------------------------------
def _query(options: AskOptions, sql: str, paths: Sequence[str]) -> int:
    from sitelog.asking.store import StatementError

    logs = _load(options, paths)
    end = time.monotonic() + _SECONDS
    try:
        found = logs.query(sql, is_late=lambda: time.monotonic() > end)
    except StatementError as error:
        raise _UsageError(f"the SQL cannot be run: {error}") from None
    _print_rows(options.form, logs.loud, found.columns, found.rows)
    return 0 if found.rows else 1


def _print_rows(
    form: str, sites: Sequence[Summary], columns: Sequence[Heading], rows: Sequence[RowLike]
) -> None:
    """The rows in one of the formats, with the headlines of the sites where a reader sees them first."""
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
        sys.stdout.write(as_table(columns, rows, _terminal_width() if is_seen else 0))
    else:
        sys.stdout.write(FORMATS[form](columns, rows))
    if for_people and rows:
        sys.stdout.write(f"\n{CAUTION}\n")
    if is_seen and not rows:
        print("none", file=sys.stderr)


def _terminal_width() -> int:
    """The columns of the terminal."""
    import shutil

    return shutil.get_terminal_size().columns


# ---- the fields of a subject -----------------------------------------------------------------------
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

"""`sitelog ask`: a question about one site or many. Exit status 0 (rows), 1 (none) or 2 (an error)."""

import argparse
import sys
from typing import TYPE_CHECKING

from sitelog.cli.edges import add_today, complain, today_of, wants_color

if TYPE_CHECKING:
    from sitelog.ask.errors import QuestionError
    from sitelog.store.answer import Answer, Table
    from sitelog.workspace import Workspace

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
        "--explain", action="store_true", help="show how the question is understood, and its SQL"
    )
    parser.add_argument("--fields", metavar="SUBJECT", help="list the fields of a subject, such as joints")
    parser.add_argument("--sql", metavar="SELECT", help="your own SQL, reading only, instead of a question")
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Answer the question; 0 with rows, 1 with none, 2 where it cannot be answered."""
    if args.fields is not None:
        return _fields(args.fields)
    if args.sql is not None:
        return _sql(args)
    if args.question is None:
        complain('a question is wanted, such as `sitelog ask "joints under torque"`')
        return 2
    return _answer(args)


def _answer(args: argparse.Namespace) -> int:
    from sitelog.ask.errors import QuestionError
    from sitelog.ask.read import parse
    from sitelog.store.answer import answer
    from sitelog.subjects import SUBJECTS
    from sitelog.workspace import load, rows

    today = today_of(args)
    try:
        parse(args.question, SUBJECTS)  # a slip is said before a fleet of logs is read
        workspace = load(args.paths or ["."], today)
        if not workspace.readable:
            complain("no log could be read")
            return 2
        found = answer(args.question, rows(workspace), today)
    except QuestionError as error:
        sys.stderr.write(question_error_text(args.question, error))
        return 2
    return _print(args, workspace, found)


def _print(args: argparse.Namespace, workspace: "Workspace", found: "Answer") -> int:
    if args.explain:
        from sitelog.ask.tree import outline

        print(outline(found.question))
        print(f"\n{found.query.sql}\nparameters: {list(found.query.params)}")
        return 0
    if args.format == "lines" and not found.lines:
        complain("a count or a share stands in no line: ask for the rows themselves, or for another format")
        return 2
    _print_rows(args.format, workspace, found)
    if found.undecided:
        rows = "row is" if found.undecided == 1 else "rows are"
        complain(f"{found.undecided} {rows} left out: a value such as `>999` does not decide the question")
    errors = sum(one.severity == "error" for one in workspace.findings)
    if errors:
        complain(f"{errors} error{'s' * (errors > 1)} found: see `sitelog check`")
    return 0 if found.rows else 1


def _print_rows(form: str, workspace: "Workspace", found: "Answer | Table") -> None:
    from sitelog.views.findings import CAUTION, headlines_text
    from sitelog.views.rows import FORMATS, markdown_text

    # What stands above everything else goes beside the answer where a program reads the answer.
    for_people = form in _FOR_PEOPLE
    head = sys.stdout if for_people else sys.stderr
    headlines = headlines_text(workspace.sites, color=form == "table" and wants_color(head))
    if form == "markdown" and headlines:
        headlines = "".join(f"{markdown_text(line)}\n\n" for line in headlines.splitlines())
    head.write(headlines)
    sys.stdout.write(FORMATS[form](found.columns, found.rows))
    if for_people and found.rows:
        sys.stdout.write(f"\n{CAUTION}\n")


def _sql(args: argparse.Namespace) -> int:
    from sitelog.store import StatementError
    from sitelog.store.answer import read
    from sitelog.workspace import load, rows

    if args.format == "lines":
        complain("rows of your own SQL stand in no line: take another format")
        return 2
    # Beside --sql there is no question: the first word behind it is a path too.
    paths = ([args.question] if args.question is not None else []) + args.paths
    workspace = load(paths or ["."], today_of(args))
    if not workspace.readable:
        complain("no log could be read")
        return 2
    try:
        found = read(args.sql, rows(workspace))
    except StatementError as error:
        complain(f"the SQL cannot be run: {error}")
        return 2
    _print_rows(args.format, workspace, found)
    return 0 if found.rows else 1


def _fields(name: str) -> int:
    from sitelog.ask.errors import did_you_mean, listed
    from sitelog.subjects import SUBJECTS
    from sitelog.views.fields import fields_text

    subject = SUBJECTS.get(name.lower())
    if subject is None:
        hint = did_you_mean(name, SUBJECTS, f"there are {listed(SUBJECTS)}")
        complain(f"there is nothing called `{name}`; {hint}")
        return 2
    sys.stdout.write(fields_text(subject))
    return 0


def question_error_text(question: str, error: "QuestionError") -> str:
    """The message, the question, a caret under what is meant, and what can be done."""
    from sitelog.views.plain import printable

    before, marked = question[: error.column - 1], question[error.column - 1 : error.end_column - 1]
    lines = [
        f"question:{error.column}: error: {printable(error.message)}",
        f"    {printable(question)}",
        f"    {' ' * len(printable(before))}{'^' * max(len(printable(marked)), 1)}",
    ]
    if error.help:
        lines.append(f"help: {printable(error.help)}")
    return "".join(f"{line}\n" for line in lines)

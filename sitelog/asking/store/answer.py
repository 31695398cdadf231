"""A question answered over stored rows."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from itertools import chain

from sitelog.asking.question.compiler import compile
from sitelog.asking.question.read import too_much
from sitelog.asking.question.request import Request, request_of
from sitelog.asking.question.result import StoredRow, rows
from sitelog.asking.question.statement import Note, Output, Query
from sitelog.asking.question.tree import Question
from sitelog.asking.store.refusals import refuse_foreign_names, refuse_mixed_sorts
from sitelog.asking.store.store import Store, TooMuchError
from sitelog.asking.subjects import SUBJECTS, Subject
from sitelog.base.frozen import NamedTuple


class FullAnswer(NamedTuple):
    """The rows, what their columns are, and how the question was understood.

    `undecided` counts the rows that a censored value (such as `>999 MΩ`) kept out; `lines` tells
    whether rows are entries of a file; `notes` say what else is not in the answer, and why.
    """

    columns: tuple[Output, ...]
    rows: tuple[StoredRow, ...]
    undecided: int
    lines: bool
    question: Question
    query: Query
    notes: tuple[str, ...] = ()


class LazyAnswer(NamedTuple):
    """An answer whose rows are made as they are asked for."""

    question: Question
    query: Query
    undecided: int
    rows: Iterator[StoredRow]
    notes: tuple[str, ...] = ()


def begin(store: Store, request: Request) -> LazyAnswer:
    """The answer to a request, from a store that holds the rows of the request's day.

    Raises `QuestionError` where the question cannot mean anything.
    """
    try:
        query = compile(request, store)
        refuse_mixed_sorts(store, request, query)
        undecided = query.undecided
        count = next(store.select(undecided.text, undecided.params))[0] if undecided else 0
        notes = tuple(filter(None, (_note_text(store, note, request) for note in query.notes)))
        found = rows(query.columns, store.select(query.sql, query.params), lines=query.lines)
        first = next(found, None)
        if first is None or first.cells == (0,):  # no rows, or a count of none
            refuse_foreign_names(store, request)
    except (TooMuchError, RecursionError):
        raise too_much(request.question.text) from None
    whole = chain((first,), found) if first is not None else found
    return LazyAnswer(request.question, query, count, whole, notes)


def _note_text(store: Store, note: Note, request: Request) -> str:
    """How many rows an answer leaves out and why; empty where it leaves out none."""
    count: int = next(store.select(note.counted.text, note.counted.params))[0]
    what = request.subject.name
    what = what.removesuffix("s") if count == 1 and what != "series" else what
    return f"{count} {what} left out: {note.reason}" if count else ""


def answer_from(store: Store, question: str, today: date) -> FullAnswer:
    """The whole answer to a question from a store that holds the rows of `today`, whatever day it names.

    Raises `QuestionError` where the question cannot mean anything.
    """
    request = request_of(question, today, store.subjects)
    tree, query, count, found, notes = begin(store, request._replace(day=today))
    return FullAnswer(query.columns, tuple(found), count, query.lines, tree, query, notes)


class SqlResult(NamedTuple):
    """What a person's own SQL gave."""

    columns: tuple[Output, ...]
    rows: tuple[StoredRow, ...]


def read_from(store: Store, sql: str, is_late: Callable[[], bool] = lambda: False) -> SqlResult:
    """The rows of a person's own SQL; a column of nothing but numbers is one of numbers.

    Raises `StatementError` where the SQL cannot be run, and once `is_late` says so.
    """
    names, found = store.read(sql, is_late)
    numeric = [all(isinstance(row[place], int | float) for row in found) for place in range(len(names))]
    types = ("number" if found and is_number else "text" for is_number in numeric)
    columns = tuple(Output(name, type_, "") for name, type_ in zip(names, types, strict=True))
    return SqlResult(columns, tuple(StoredRow("", 0, "", row) for row in found))


def answer(
    question: str,
    stored: Mapping[str, Iterable[Sequence[object]]],
    today: date,
    subjects: Mapping[str, Subject] = SUBJECTS,
) -> FullAnswer:
    """The answer to a question over rows by subject; raises `QuestionError`."""
    with Store(subjects) as store:
        for subject, some in stored.items():
            store.add(subject, some)
        return answer_from(store, question, today)

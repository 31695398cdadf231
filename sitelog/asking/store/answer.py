"""A question answered over stored rows."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date

from sitelog.asking.question.compiler import Output, Query, compile
from sitelog.asking.question.read import parse, too_much
from sitelog.asking.question.result import Row, rows
from sitelog.asking.question.tree import Question
from sitelog.asking.store.store import Store, TooMuchError
from sitelog.asking.subjects import SUBJECTS, Subject
from sitelog.base.frozen import NamedTuple


class Answer(NamedTuple):
    """The rows, what their columns are, and how the question was understood.

    `undecided` counts the rows that a censored value (such as `>999 MΩ`) kept out; `lines` tells
    whether rows are entries of a file.
    """

    columns: tuple[Output, ...]
    rows: tuple[Row, ...]
    undecided: int
    lines: bool
    question: Question
    query: Query


class Begun(NamedTuple):
    """An answer whose rows are made as they are asked for."""

    question: Question
    query: Query
    undecided: int
    rows: Iterator[Row]


def begin(store: Store, question: Question, today: date) -> Begun:
    """The answer to a question from a store; raises QuestionError.

    The rows stored have to be those of `today`: what `as of` asks, whoever filled the store has seen to.
    """
    try:
        query = compile(question, store.subjects, today, store)
        undecided = query.undecided
        count = next(store.select(undecided.text, undecided.params))[0] if undecided else 0
        found = rows(query.columns, store.select(query.sql, query.params), lines=query.lines)
    except (TooMuchError, RecursionError):
        raise too_much(question.text) from None
    return Begun(question, query, count, found)


def answer_from(store: Store, question: str, today: date) -> Answer:
    """The whole answer to a question from a store; raises QuestionError."""
    tree, query, count, found = begin(store, parse(question, store.subjects), today)
    return Answer(query.columns, tuple(found), count, query.lines, tree, query)


class Table(NamedTuple):
    """What a person's own SQL gave."""

    columns: tuple[Output, ...]
    rows: tuple[Row, ...]


def read(
    sql: str,
    stored: Mapping[str, Iterable[Sequence[object]]],
    subjects: Mapping[str, Subject] = SUBJECTS,
    is_late: Callable[[], bool] = lambda: False,
) -> Table:
    """The rows of a person's own reading SQL; raises StatementError, also once `is_late` says so."""
    with _filled(stored, subjects) as store:
        return read_from(store, sql, is_late)


def read_from(store: Store, sql: str, is_late: Callable[[], bool] = lambda: False) -> Table:
    """The same from a store that is filled."""
    names, found = store.read(sql, is_late)
    numeric = [all(isinstance(row[place], int | float) for row in found) for place in range(len(names))]
    types = ("number" if found and is_number else "text" for is_number in numeric)
    columns = tuple(Output(name, type_, "") for name, type_ in zip(names, types, strict=True))
    return Table(columns, tuple(Row("", 0, "", row) for row in found))


def answer(
    question: str,
    stored: Mapping[str, Iterable[Sequence[object]]],
    today: date,
    subjects: Mapping[str, Subject] = SUBJECTS,
) -> Answer:
    """The answer to a question over rows by subject; raises QuestionError."""
    with _filled(stored, subjects) as store:
        return answer_from(store, question, today)


def _filled(stored: Mapping[str, Iterable[Sequence[object]]], subjects: Mapping[str, Subject]) -> Store:
    store = Store(subjects)
    for subject, some in stored.items():
        store.add(subject, some)
    return store

"""A question answered over stored rows."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from sitelog.ask.compiler import Output, Query, compile
from sitelog.ask.read import parse, too_much
from sitelog.ask.result import Row, rows
from sitelog.ask.tree import Question
from sitelog.store.store import Store, TooMuchError
from sitelog.subjects import SUBJECTS, Subject


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


def answer_from(store: Store, question: str, today: date) -> Answer:
    """The answer to a question from a store; raises QuestionError."""
    tree = parse(question)
    try:
        query = compile(tree, store.subjects, today, store)
        found = tuple(rows(query.columns, store.select(query.sql, query.params), lines=query.lines))
        undecided = query.undecided
        count = next(store.select(undecided.text, undecided.params))[0] if undecided else 0
    except (TooMuchError, RecursionError):
        raise too_much(question) from None
    return Answer(query.columns, found, count, query.lines, tree, query)


def answer(
    question: str,
    stored: Mapping[str, Iterable[Sequence[object]]],
    today: date,
    subjects: Mapping[str, Subject] = SUBJECTS,
) -> Answer:
    """The answer to a question over rows by subject; raises QuestionError."""
    with Store(subjects) as store:
        for subject, some in stored.items():
            store.add(subject, some)
        return answer_from(store, question, today)

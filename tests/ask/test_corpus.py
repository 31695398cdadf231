"""Questions and their answers, as text: see the head of tests/ask/corpus/questions.txt."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import pytest

from sitelog.asking.question.errors import QuestionError
from sitelog.asking.store import Store
from sitelog.asking.store.answer import answer_from
from sitelog.views.rows import Cell, Heading, cell_text
from tests.ask.data import TODAY, stored_rows
from tests.conftest import Expect
from tests.corpora import ShortCase, params, read_short

CORPUS = sorted((Path(__file__).parent / "corpus").glob("*.txt"))


ALL = [case for path in CORPUS for case in read_short(path)]


@pytest.fixture(scope="module")
def store() -> Iterator[Store]:
    """The invented sites in a database."""
    with Store() as made:
        for subject, rows in stored_rows().items():
            made.add(subject, rows)
        yield made


def outcome(store: Store, question: str) -> list[str]:
    """What a case expects, for a question: the one place that calls the room under test."""
    try:
        found = answer_from(store, question, TODAY)
    except QuestionError as error:
        help_line = f" | {error.help}" if error.help else ""
        return [f"error {error.column}-{error.end_column} {error.message}{help_line}"]
    return shown(found.columns, (one.cells for one in found.rows), found.undecided, found.notes)


def shown(
    columns: Sequence[Heading], rows: Iterable[Sequence[Cell]], undecided: int, notes: Sequence[str] = ()
) -> list[str]:
    """Rows as the lines of a case."""
    lines = [_line(columns, cells) for cells in rows] or ["none"]
    return lines + ([f"undecided {undecided}"] if undecided else []) + [f"note {note}" for note in notes]


def _line(columns: Sequence[Heading], cells: Sequence[Cell]) -> str:
    read = ((column, cell) for column, cell in zip(columns, cells, strict=True) if not column.aside)
    texts = (cell_text(column, cell) for column, cell in read)
    return " | ".join(texts).rstrip()


@pytest.mark.parametrize("case", params(ALL))
def test_question(store: Store, case: ShortCase, expect_lines: Expect) -> None:
    """The answer is the one expected, to the letter."""
    expect_lines(case, outcome(store, case.tried))

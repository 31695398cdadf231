"""Questions and their answers, as text: see the head of tests/ask/corpus/questions.txt."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

import pytest

from sitelog.asking.question.errors import QuestionError
from sitelog.asking.store import Store
from sitelog.asking.store.answer import answer_from
from sitelog.views.rows import Cell, Heading, cell_text
from tests.ask.data import TODAY, stored_rows

CORPUS = sorted((Path(__file__).parent / "corpus").glob("*.txt"))


class Case(NamedTuple):
    """A question, and the lines expected: a row each, `undecided N`, `none`, or `error COLUMN-END words`."""

    question: str
    expected: tuple[str, ...]


def cases_of(paths: Iterable[Path]) -> Iterator[object]:
    """Every case, named by its file and line."""
    for path in paths:
        question, expected, start = "", None, 0
        for number, line in enumerate([*path.read_text(encoding="utf-8").splitlines(), ""], 1):
            if line.startswith("#"):
                continue
            if line == "---":
                expected = []
            elif line and expected is None:
                question, start = line, number
            elif line and expected is not None:
                expected.append(line)
            elif question and expected is not None:
                yield pytest.param(Case(question, tuple(expected)), id=f"{path.stem}:{start}")
                question, expected = "", None


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
    return shown(found.columns, (one.cells for one in found.rows), found.undecided)


def shown(columns: Sequence[Heading], rows: Iterable[Sequence[Cell]], undecided: int) -> list[str]:
    """Rows as the lines of a case."""
    lines = [_line(columns, cells) for cells in rows] or ["none"]
    return lines + ([f"undecided {undecided}"] if undecided else [])


def _line(columns: Sequence[Heading], cells: Sequence[Cell]) -> str:
    read = ((column, cell) for column, cell in zip(columns, cells, strict=True) if not column.aside)
    texts = (cell_text(column, cell) for column, cell in read)
    return " | ".join(texts).rstrip()


def check(found: list[str], wanted: Sequence[str]) -> None:
    """Line for line the same; a line that ends in `…` is one that begins so."""
    long = [line.endswith("…") for line in wanted]
    expected = [line.removesuffix("…") for line in wanted]
    pairs = zip(found, expected, long, strict=False)
    cut = [line[: len(other)] if is_long else line for line, other, is_long in pairs]
    assert [*cut, *found[len(cut) :]] == expected


@pytest.mark.parametrize("case", list(cases_of(CORPUS)))
def test_question(store: Store, case: Case) -> None:
    """The answer is the one expected, to the letter."""
    check(outcome(store, case.question), case.expected)

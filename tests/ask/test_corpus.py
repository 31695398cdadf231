"""Questions and their answers, as text: see the head of tests/ask/corpus/questions.txt."""

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from sitelog.ask.errors import QuestionError
from sitelog.store import Store
from sitelog.store.answer import Answer, answer_from
from sitelog.views.rows import cell_text
from tests.ask.data import TODAY, stored_rows

CORPUS = sorted((Path(__file__).parent / "corpus").glob("*.txt"))


class Case(NamedTuple):
    """A question, and the lines expected: a row each, `undecided N`, `none`, or `error COLUMN-END words`."""

    question: str
    expected: tuple[str, ...]


def cases() -> Iterator[object]:
    """Every case, named by its file and line."""
    for path in CORPUS:
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
    lines = [_line(found, cells) for _, _, _, cells in found.rows] or ["none"]
    return lines + ([f"undecided {found.undecided}"] if found.undecided else [])


def _line(found: Answer, cells: tuple[object, ...]) -> str:
    texts = (cell_text(column, cell) for column, cell in zip(found.columns, cells, strict=True))  # type: ignore[arg-type]
    return " | ".join(texts).rstrip()


@pytest.mark.parametrize("case", list(cases()))
def test_question(store: Store, case: Case) -> None:
    """The answer is the one expected, to the letter; a line that ends in `…` is one that begins so."""
    found = outcome(store, case.question)
    long = [line.endswith("…") for line in case.expected]
    expected = [line.removesuffix("…") for line in case.expected]
    cut = [
        line[: len(other)] if is_long else line
        for line, other, is_long in zip(found, expected, long, strict=False)
    ]
    assert [*cut, *found[len(cut) :]] == expected

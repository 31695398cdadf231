"""The questions of the design on three logs written for them, read and judged as any log is."""

from pathlib import Path

import pytest

from sitelog.asking.question.errors import QuestionError
from tests.ask.test_corpus import shown
from tests.ask.workspaces import HAND_TODAY, ask, hand_made
from tests.conftest import Expect
from tests.corpora import ShortCase, params, read_short

QUESTIONS = Path(__file__).parent / "hand" / "questions.txt"


@pytest.fixture(scope="module")
def paths(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, ...]:
    """The logs in a folder."""
    return hand_made(tmp_path_factory.mktemp("hand"))


@pytest.mark.parametrize("case", params(read_short(QUESTIONS)))
def test_question(paths: tuple[str, ...], case: ShortCase, expect_lines: Expect) -> None:
    """The answer is the one that a person finds by reading the logs."""
    try:
        answer = ask(paths, case.tried, HAND_TODAY)
        found = shown(answer.columns, (row.cells for row in answer), answer.undecided)
    except QuestionError as error:
        found = [f"error {error.column}-{error.end_column} {error.message} | {error.help}"]
    expect_lines(case, found)

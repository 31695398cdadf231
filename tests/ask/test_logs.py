"""The same of the example logs: what stands in them, what stood then, and every time it was written."""

from pathlib import Path

import pytest

from sitelog.asking.question.errors import QuestionError
from tests.ask.test_corpus import shown
from tests.ask.workspaces import EXAMPLES, ask
from tests.conftest import Expect
from tests.corpora import ShortCase, params, read_short

LOGS = sorted((Path(__file__).parent / "logs").glob("*.txt"))


@pytest.mark.parametrize("case", params(case for path in LOGS for case in read_short(path)))
def test_question(case: ShortCase, expect_lines: Expect) -> None:
    """The answer is the one that a person finds by reading the logs."""
    try:
        answer = ask(EXAMPLES, case.tried)
        found = shown(answer.columns, (row.cells for row in answer), answer.undecided, answer.notes)
    except QuestionError as error:
        found = [f"error {error.column}-{error.end_column} {error.message} | {error.help}"]
    expect_lines(case, found)

"""The same of the example logs: what stands in them, what stood then, and every time it was written."""

from pathlib import Path

import pytest

from sitelog.asking.question.errors import QuestionError
from tests.ask.test_corpus import Case, cases_of, check, shown
from tests.ask.workspaces import EXAMPLES, ask

LOGS = sorted((Path(__file__).parent / "logs").glob("*.txt"))


@pytest.mark.parametrize("case", list(cases_of(LOGS)))
def test_question(case: Case) -> None:
    """The answer is the one that a person finds by reading the logs."""
    try:
        answer = ask(EXAMPLES, case.question)
        found = shown(answer.columns, (row.cells for row in answer), answer.undecided)
    except QuestionError as error:
        found = [f"error {error.column}-{error.end_column} {error.message} | {error.help}"]
    check(found, case.expected)

"""What every test may use: the comparison with the corpora, or their update, and others' archives."""

from collections.abc import Callable, Sequence

import pytest

from tests import corpora
from tests.archives import from_archive

__all__ = ["from_archive"]

Expect = Callable[..., None]


def pytest_addoption(parser: pytest.Parser) -> None:
    """`pytest tests/corpus --update-corpus`; the difference is read like code before it is kept."""
    parser.addoption(
        "--update-corpus", action="store_true", help="write what is read now as what is expected"
    )


@pytest.fixture(scope="session")
def update_corpus(request: pytest.FixtureRequest) -> bool:
    """Whether expected parts are written anew instead of compared."""
    return bool(request.config.getoption("--update-corpus"))


@pytest.fixture
def expect(update_corpus: bool) -> Expect:
    """`expect(case, *parts)`: the last parts of the case are these, to the letter, or are made so."""

    def compare(case: corpora.Case, *found: str) -> None:
        if update_corpus:
            corpora.accept(case, *found)
        else:
            assert found == case.parts[len(case.parts) - len(found) :]

    return compare


@pytest.fixture
def expect_lines(update_corpus: bool) -> Expect:
    """`expect_lines(case, lines)`: a short case expects these lines, or is made to."""

    def compare(case: corpora.ShortCase, found: Sequence[str]) -> None:
        found = corpora.short_lines(found, case.expected)
        if update_corpus:
            corpora.accept_short(case, found)
        else:
            assert found == list(case.expected)

    return compare

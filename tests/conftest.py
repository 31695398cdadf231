"""What every test may use: the switch that writes expected parts of the corpus anew, and others' archives."""

import pytest

from tests.archives import from_archive

__all__ = ["from_archive"]


def pytest_addoption(parser: pytest.Parser) -> None:
    """`pytest tests/corpus --update-corpus`; the difference is read like code before it is kept."""
    parser.addoption(
        "--update-corpus", action="store_true", help="write what is read now as what is expected"
    )

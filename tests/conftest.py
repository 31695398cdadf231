"""What every test may use: the switch that writes expected parts of the corpus anew."""

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    """`pytest tests/corpus --update-corpus`; the difference is read like code before it is kept."""
    parser.addoption(
        "--update-corpus", action="store_true", help="write what is read now as what is expected"
    )

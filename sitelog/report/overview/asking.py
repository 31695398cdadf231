"""What is needed of an answer. The overview asks as a reader can, so that its numbers are those of `ask`."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Protocol

from sitelog.views import rows


class Row(rows.Row, Protocol):
    """One row of an answer, its fields by their names too."""

    def __getitem__(self, name: str, /) -> Any: ...


class Answer(Protocol):
    """The rows that answer a question, and what its columns are."""

    @property
    def columns(self) -> Sequence[rows.Heading]: ...
    def __iter__(self) -> Iterator[Row]: ...


Ask = Callable[[str], Answer]
"""From a question to its answer."""

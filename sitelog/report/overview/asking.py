"""What is needed of an answer. The overview asks as a reader can, so that its numbers are those of `ask`."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Protocol

from sitelog.views.rows import Heading


class AnsweredRow(Protocol):
    """One row of an answer: its fields by name and in order, and where it stands."""

    @property
    def file(self) -> str: ...
    @property
    def line(self) -> int: ...
    @property
    def text(self) -> str: ...
    @property
    def cells(self) -> Sequence[Any]: ...
    def __getitem__(self, name: str, /) -> Any: ...


class AnswerLike(Protocol):
    """The rows that answer a question, and what its columns are."""

    @property
    def columns(self) -> Sequence[Heading]: ...
    def __iter__(self) -> Iterator[AnsweredRow]: ...


Ask = Callable[[str], AnswerLike]
"""From a question to its answer."""

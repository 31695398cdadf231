"""Answers as tables: their rows as they stand, cut where they are long, each with its own question."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TypeVar

from sitelog.base.text import printable
from sitelog.report.handover.document import Cell, ColumnHead, PageTable, Words
from sitelog.report.overview.asking import AnsweredRow, AnswerLike, Ask
from sitelog.views.rows import NUMERIC, cell_text

MOST_ROWS = 200
"""Of a long table so many rows are shown, with the number of the others and how to see them."""

_LOOKS = {"site": "name", "sheets": "name", "about": "words", "because": "words"}
_Some = TypeVar("_Some")
Own = Callable[[str, AnsweredRow], Cell | None]


class Linker:
    """The cell of a site's name: it leads to the site's handover page where there is one."""

    def __init__(self, pages: Mapping[str, str]) -> None:
        self._pages = pages

    def __call__(self, site: str) -> Cell:
        return Cell(printable(site), self._pages.get(site, ""))

    def of_row(self, name: str, row: AnsweredRow) -> Cell | None:
        """The cell of a row's site; None for its other columns."""
        return self(row["site"]) if name == "site" else None


def cut(rows: Iterable[_Some], most: int = MOST_ROWS) -> tuple[list[_Some], int]:
    """The first rows, and how many there are besides."""
    kept: list[_Some] = []
    more = 0
    for one in rows:
        if len(kept) < most:
            kept.append(one)
        else:
            more += 1
    return kept, more


def told(
    ask: Ask, caption: str, question: str, own: Own, most: int = MOST_ROWS
) -> tuple[PageTable | Words, ...]:
    """A question's answer as a table, and how to ask it; nothing where there is no row."""
    return of_answer(ask(question), caption, question, own, most)


def of_answer(
    answer: AnswerLike, caption: str, question: str, own: Own, most: int = MOST_ROWS
) -> tuple[PageTable | Words, ...]:
    """An answer as a table; `own` may make a cell of its own of a column's name and a row."""
    rows, more = cut(answer, most)
    if not rows:
        return ()
    columns = answer.columns
    heads = tuple(head(column.name, column.type) for column in columns)
    cells = tuple(
        tuple(
            own(column.name, row) or Cell(printable(cell_text(column, cell)))
            for column, cell in zip(columns, row.cells, strict=True)
        )
        for row in rows
    )
    return PageTable(caption, heads, cells), how_to_ask(question, more)


def head(name: str, type: str = "") -> ColumnHead:
    """The head of a column of an answer."""
    look = "number" if type in NUMERIC else "day" if type == "day" else _LOOKS.get(name, "")
    return ColumnHead(name.replace("_", " "), look)


def how_to_ask(question: str, more: int = 0) -> Words:
    """The command that gives the table, and how many of its rows are left out."""
    rest = f"… and {more} more. " if more else ""
    return Words(f'{rest}To ask for it: sitelog ask "{question}"', "quiet")

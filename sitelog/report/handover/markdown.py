"""The facts of a handover as Markdown: the same words and numbers, readable as they stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sitelog.report.handover.document import Cell, Handover, Items, Part, Table, Verbatim, Words
from sitelog.views.plain import printable
from sitelog.views.rows import markdown_text


def markdown(facts: Handover) -> str:
    """The page as Markdown."""
    return "\n".join(_lines(facts)).rstrip() + "\n"


def _lines(facts: Handover) -> Iterator[str]:
    cover = facts.cover
    yield f"# {markdown_text(cover.title or cover.site)}"
    yield ""
    yield f"Handover of {markdown_text(cover.site)}, judged by {cover.judged}"
    yield ""
    yield f"**{cover.shape} {cover.word}**"
    yield ""
    yield markdown_text(cover.meaning)
    blocks = (
        ("What", cover.what), ("Where", cover.where), ("Who", cover.who), ("When", cover.when),
        ("What is open", cover.open), ("What to do", cover.todo), ("Whom to call", cover.call),
        ("Cautions", tuple(Cell(one) for one in cover.cautions)),
    )  # fmt: skip
    for title, cells in blocks:
        if cells:
            yield from ("", f"## {title}", "")
            yield from _items(cells)
    for section in facts.sections:
        yield from ("", f"## {section.title}")
        for part in section.parts:
            yield ""
            yield from part_lines(part)


def part_lines(part: Part) -> Iterator[str]:
    """One part of a section, line by line."""
    if isinstance(part, Words):
        yield markdown_text(part.text)
    elif isinstance(part, Items):
        if part.name:
            yield from (f"### {markdown_text(part.name)}", "")
        yield from _items(part.items)
    elif isinstance(part, Table):
        yield from _table(part)
    elif isinstance(part, Verbatim):
        yield from _verbatim(part)


def _items(cells: Sequence[Cell]) -> Iterator[str]:
    for cell in cells:
        yield f"- {_cell(cell)}"


def _cell(cell: Cell) -> str:
    text = markdown_text(cell.text)
    if cell.struck and text:
        text = f"~~{text}~~"
    return f"{text} ({markdown_text(cell.note)})" if cell.note else text


def _table(table: Table) -> Iterator[str]:
    yield f"{markdown_text(table.caption)}:"
    yield ""
    yield f"| {' | '.join(markdown_text(head.text) for head in table.heads)} |"
    yield f"| {' | '.join('---:' if head.look == 'number' else '---' for head in table.heads)} |"
    for row in table.rows:
        yield f"| {' | '.join(map(_cell, row))} |"


def _verbatim(part: Verbatim) -> Iterator[str]:
    longest = max((len(run) for line in part.lines for run in _ticks(line.text)), default=0)
    fence = "`" * max(3, longest + 1)
    width = len(str(len(part.lines)))
    yield from (f"### {markdown_text(part.file)}", "", fence)
    for line in part.lines:
        yield f"{line.number:>{width}}  {printable(line.text)}".rstrip()
    yield fence


def _ticks(text: str) -> list[str]:
    import re

    return re.findall("`+", text)

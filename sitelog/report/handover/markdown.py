"""The facts of a handover as Markdown: the same words and numbers, readable as they stand.

Pictures are left out: the numbers in them stand in the tables. Lines of the log are named by their numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from sitelog.base.text import printable
from sitelog.report.handover.document import (
    Cell,
    Group,
    Handover,
    Items,
    PagePhoto,
    PageTable,
    Part,
    Photos,
    Tiles,
    Verbatim,
    Words,
)
from sitelog.views.rows import markdown_text


def markdown(facts: Handover) -> str:
    """The page as Markdown."""
    return "\n".join(_lines(facts)).rstrip() + "\n"


def _lines(facts: Handover) -> Iterator[str]:
    cover = facts.cover
    yield f"# {markdown_text(cover.title or cover.site)}"
    yield ""
    yield f"Handover of {markdown_text(cover.site)}, as things stood on {cover.judged}."
    yield ""
    yield f"**{cover.shape} {cover.word}**: {markdown_text(cover.meaning)}"
    yield ""
    yield markdown_text(cover.cautions[-1])
    blocks = (
        ("Equipment", cover.what), ("Where", cover.where), ("By", cover.who), ("When", cover.when),
        ("Call", cover.call), ("What is open", cover.open), ("What to do", cover.todo),
        ("Take care", tuple(Cell(one) for one in cover.cautions[:-1])),
    )  # fmt: skip
    for title, cells in blocks:
        if cells:
            yield from ("", f"## {title}", "")
            yield from _items(cells)
            if title == "What is open" and cover.more:
                yield f"- and {cover.more} more, below"
    for section in facts.sections:
        parts = [part for part in section.parts if part.sort != "figures"]
        if parts:
            yield from ("", f"## {section.title}")
        for part in parts:
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
    elif isinstance(part, PageTable):
        yield from _table(part)
    elif isinstance(part, Tiles):
        yield from (f"{markdown_text(part.caption)}:", "")
        yield from map(_group, part.groups)
    elif isinstance(part, Photos):
        yield from (f"{markdown_text(part.caption)}:", "")
        yield from map(_photo, part.photos)
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


def _table(table: PageTable) -> Iterator[str]:
    yield f"{markdown_text(table.caption)}:"
    yield ""
    yield f"| {' | '.join(markdown_text(head.text) for head in table.heads)} |"
    yield f"| {' | '.join('---:' if head.look == 'number' else '---' for head in table.heads)} |"
    for row in table.rows:
        yield f"| {' | '.join(map(_cell, row))} |"


def _group(group: Group) -> str:
    tiles = "; ".join(
        f"{markdown_text(tile.place)} {markdown_text(tile.value)} {markdown_text(tile.verdict.text)}"
        for tile in group.tiles
    )
    return f"- {markdown_text(group.name)} ({markdown_text(group.asked)}): {tiles}"


def _photo(photo: PagePhoto) -> str:
    return f"- {markdown_text(photo.about)}: {markdown_text(photo.name)}"


def _verbatim(part: Verbatim) -> Iterator[str]:
    longest = max((len(run) for line in part.lines for run in re.findall("`+", line.text)), default=0)
    fence = "`" * max(3, longest + 1)
    width = len(str(len(part.lines)))
    yield from (f"### {markdown_text(part.file)}", "", fence)
    for line in part.lines:
        yield f"{line.number:>{width}}  {printable(line.text)}".rstrip()
    yield fence

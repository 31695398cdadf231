"""A paper of the reference, as a terminal shows it: headings underlined, tables aligned, text wrapped.

In: the text of a paper, written in the few forms of Markdown that the papers use. Out: plain text of a width.
"""

import re
import textwrap
from collections.abc import Iterator

from sitelog.base.text import display_width, printable
from sitelog.views.table import GAP, set_rows

_LEAST_COLUMN = 12  # a narrower column breaks words that nobody can then read


def dressed(text: str, width: int) -> str:
    """The paper as plain text, at most `width` columns wide (at least 40); fenced lines stay as they are."""
    dress = _Dress(max(width, 40))
    shown = (lines for block in blocks(text) if (lines := dress.lines(block)))
    return "\n\n".join("\n".join(map(printable, lines)) for lines in shown) + "\n"


def blocks(text: str) -> Iterator[str]:
    """The headings, paragraphs, lists, tables and fenced blocks of a paper; comments are left out."""
    fence = ""
    block: list[str] = []
    for line in text.splitlines():
        ticks = re.match(r"`{3,}", line)
        if fence:
            block.append(line)
            if line == fence:
                yield "\n".join(block)
                block, fence = [], ""
        elif ticks or not line.strip() or line.startswith(("#", "<!--")):
            if block:
                yield "\n".join(block)
            block = [line] if ticks else []
            fence = ticks[0] if ticks else ""
            if line.startswith("#"):
                yield line
        else:
            block.append(line)
    if block:
        yield "\n".join(block)


def section(text: str, heading: str) -> str:
    """What stands below a `##` heading, with the heading; KeyError where there is none."""
    found = re.split(r"^(?=## )", text, flags=re.MULTILINE)
    for part in found:
        if part.startswith(f"## {heading}\n"):
            return part
    raise KeyError(heading)


class _Dress:
    """How each form of block looks in a number of columns."""

    def __init__(self, width: int) -> None:
        self.width = width

    def lines(self, block: str) -> list[str]:
        """The lines of one block."""
        if block.startswith("#"):
            return self._heading(block)
        if block.startswith("```"):
            return [f"    {line}".rstrip() for line in block.split("\n")[1:-1]]
        if block.startswith("|"):
            return self._table([_cells(row) for row in block.split("\n")])
        if block.startswith("- "):
            items = re.split(r"\n(?=- )", block)
            return [line for item in items for line in self._wrapped(item[2:], "- ", "  ")]
        return self._wrapped(block)

    def _heading(self, block: str) -> list[str]:
        marks, _, title = block.partition(" ")
        lines = textwrap.wrap(_plain(title), self.width)
        under = {"#": "=", "##": "-"}.get(marks)
        return [*lines, under * max(map(display_width, lines))] if under else lines

    def _wrapped(self, text: str, first: str = "", rest: str = "") -> list[str]:
        return textwrap.wrap(
            " ".join(_plain(text).split()),
            self.width,
            initial_indent=first,
            subsequent_indent=rest,
            break_on_hyphens=False,
        )

    def _table(self, rows: list[list[str]]) -> list[str]:
        head, _, *body = rows
        widths = self._widths([head, *body])
        rule = ["-" * width for width in widths]
        rows = [_wrapped(head, widths), rule, *(_wrapped(row, widths) for row in body)]
        return [line for block in set_rows(rows, [False] * len(widths)) for line in block]

    def _widths(self, rows: list[list[str]]) -> list[int]:
        """The widths of the columns: the widest gives way until the row fits."""
        widths = [max(map(display_width, column)) for column in zip(*rows, strict=True)]
        while sum(widths) + len(GAP) * (len(widths) - 1) > self.width and max(widths) > _LEAST_COLUMN:
            widths[widths.index(max(widths))] -= 1
        return widths


def _cells(row: str) -> list[str]:
    return [_plain(cell.strip()) for cell in row.strip().removeprefix("|").removesuffix("|").split(" | ")]


def _wrapped(cells: list[str], widths: list[int]) -> list[str]:
    """The cells of a row, each on as many lines as its width makes of it."""
    return [
        "\n".join(textwrap.wrap(cell, width, break_on_hyphens=False))
        for cell, width in zip(cells, widths, strict=True)
    ]


def _plain(text: str) -> str:
    """The text without the marks for code and emphasis; what stands between backticks stays as it is."""
    parts = re.split(r"`([^`]*)`", text)
    parts[::2] = [re.sub(r"\*\*?(\w[^*]*)\*\*?", r"\1", part) for part in parts[::2]]
    return "".join(parts)

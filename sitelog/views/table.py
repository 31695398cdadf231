"""The one place that prints plain tables: answers, traces, and the tables of papers.

In: heads, and cells as text. Out: a table with numbers lined up by their decimal points, and long text on
several lines. The library tabulate sets the columns beside each other; what it cannot do stands here: the
decimal points, units in the heads, and the fit to a terminal. It is loaded when a table is printed and not
before: loading takes some 100 ms, and setting 1000 rows of ten columns some 45 ms, where the same in
Python alone takes 3 ms (measured with Python 3.11 and tabulate 0.10 on two shared cores).
"""

import re
from collections.abc import Sequence
from textwrap import wrap

from sitelog.base.frozen import NamedTuple

GAP = "  "  # between two columns
_LEAST = 12  # characters that a column of text keeps, however narrow the terminal
_READABLE = 30  # a longer text than this is not squeezed to less: it goes under its row
_INDENT = " " * 4

_NUMBER = r"([<>]?[+-]?[0-9]+)(\.[0-9]+)?((?:e[+-]?[0-9]+)?)(?: (.*))?"


class TableColumn(NamedTuple):
    """The head and the cells of one column; `numeric` ones are lined up by their decimal points."""

    head: str
    cells: Sequence[str]
    numeric: bool


def table_text(columns: Sequence[TableColumn], width: int = 0) -> str:
    """The table; where a width is given, text is wrapped until it fits, or stands under its row."""
    made = [_ready(column) for column in columns]
    under: list[TableColumn] = []
    natural = [max(len(text) for text in (column.head, *column.cells)) for column in made]
    widths = list(natural)
    while width:
        _narrow(widths, made, width)
        is_readable = all(has >= min(full, _READABLE) for has, full in zip(widths, natural, strict=True))
        if is_readable or len(made) < 2:
            break
        longest = max(range(len(made)), key=lambda at: -1 if made[at].numeric else natural[at])
        if made[longest].numeric or natural[longest] <= _READABLE:
            break
        under.append(made.pop(longest))
        natural.pop(longest)
        widths = list(natural)
    rows = [[column.head for column in made], *zip(*(column.cells for column in made), strict=True)]
    blocks = set_rows([_wrapped(cells, made, widths) for cells in rows], [column.numeric for column in made])
    lines = [*blocks[0]]
    for at, block in enumerate(blocks[1:]):
        lines += block
        lines += [_under(column, at, width) for column in reversed(under) if column.cells[at]]
    return "".join(f"{line}\n" for line in lines)


def plain_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Rows of text under their heads, all at the left; ends without a line feed."""
    from tabulate import tabulate

    return tabulate(rows, heads, tablefmt="plain", disable_numparse=True)


def set_rows(rows: Sequence[Sequence[str]], to_the_right: Sequence[bool]) -> list[list[str]]:
    """Rows set in columns, each as its lines without blanks at the end; a cell may hold several lines.

    `to_the_right` says for each column whether it stands at the right. Blanks in cells are kept.
    """
    from tabulate import tabulate

    text = tabulate(
        rows,
        tablefmt="plain",
        disable_numparse=True,
        colalign=["right" if is_right else "left" for is_right in to_the_right],
        preserve_whitespace=True,
    )
    lines = iter(text.split("\n"))
    return [
        [next(lines).rstrip() for _ in range(1 + max(cell.count("\n") for cell in cells))] for cells in rows
    ]


def _under(column: TableColumn, at: int, width: int) -> str:
    """A long text below its row."""
    text = f"{column.head}: {column.cells[at]}"
    lines = wrap(text, width, initial_indent=_INDENT, subsequent_indent=_INDENT, break_on_hyphens=False)
    return "\n".join(lines)


def _ready(column: TableColumn) -> TableColumn:
    """Numbers lined up, and their unit in the head where all have the same."""
    if not column.numeric:
        return column
    column = _with_unit(column)
    return column._replace(cells=lined_up(column.cells))


def _with_unit(column: TableColumn) -> TableColumn:
    is_number = re.compile(_NUMBER).fullmatch
    found = [is_number(cell) for cell in column.cells if cell]
    units = {match[4] if match is not None else None for match in found}
    unit = units.pop() if len(units) == 1 else None
    if not unit:
        return column
    cells = [cell.removesuffix(f" {unit}") for cell in column.cells]
    return TableColumn(f"{column.head} ({unit})", cells, numeric=True)


def lined_up(cells: Sequence[str]) -> list[str]:
    """Numbers padded so that their decimal points, and their units, stand under each other."""
    number = re.compile(_NUMBER)
    parts = [number.fullmatch(cell) for cell in cells]
    fractions = max((len(match[2] or "") + len(match[3]) for match in parts if match is not None), default=0)
    units = max((len(match[4] or "") for match in parts if match is not None), default=0)
    found: list[str] = []
    for cell, match in zip(cells, parts, strict=True):
        if match is None:
            found.append(cell)
            continue
        text = match[1] + f"{match[2] or ''}{match[3]}".ljust(fractions)
        found.append(f"{text} {(match[4] or '').ljust(units)}" if units else text)
    return found


def _narrow(widths: list[int], columns: Sequence[TableColumn], width: int) -> None:
    """Take from the widest columns of text until the table fits, or none can give any more."""
    texts = [at for at, column in enumerate(columns) if not column.numeric]
    least = {at: max(_LEAST, len(columns[at].head)) for at in texts}
    while (over := sum(widths) + len(GAP) * (len(widths) - 1) - width) > 0:
        giving = [at for at in texts if widths[at] > least[at]]
        if not giving:
            return
        widest = max(giving, key=lambda at: widths[at])
        others = [widths[at] for at in giving if widths[at] < widths[widest]]
        floor = max(least[widest], *others) if others else least[widest]
        widths[widest] = max(floor, widths[widest] - over) if floor < widths[widest] else widths[widest] - 1


def _wrapped(cells: Sequence[str], columns: Sequence[TableColumn], widths: Sequence[int]) -> list[str]:
    """The cells of a row, those of text on several lines where they are too long, padded to their columns."""
    return [
        cell.rjust(width)
        if column.numeric
        else cell.ljust(width)
        if len(cell) <= width
        else "\n".join(wrap(cell, width, break_on_hyphens=False))
        for cell, column, width in zip(cells, columns, widths, strict=True)
    ]

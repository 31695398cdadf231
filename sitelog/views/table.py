"""Rows as a table of plain text: numbers lined up by their decimal points, long text on several lines."""

import re
from collections.abc import Callable, Sequence
from itertools import zip_longest
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
    made = [_ready(one) for one in columns]
    under: list[TableColumn] = []
    natural = [max(len(text) for text in (one.head, *one.cells)) for one in made]
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
    row = _rows(made, widths)
    lines = [row([one.head for one in made])]
    for at, cells in enumerate(zip(*(one.cells for one in made), strict=True)):
        lines.append(row(cells))
        lines += [_under(one, at, width) for one in reversed(under) if one.cells[at]]
    return "".join(lines)


def _under(column: TableColumn, at: int, width: int) -> str:
    """A long text below its row."""
    text = f"{column.head}: {column.cells[at]}"
    lines = wrap(text, width, initial_indent=_INDENT, subsequent_indent=_INDENT, break_on_hyphens=False)
    return "".join(f"{line}\n" for line in lines)


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
    texts = [at for at, one in enumerate(columns) if not one.numeric]
    least = {at: max(_LEAST, len(columns[at].head)) for at in texts}
    while (over := sum(widths) + len(GAP) * (len(widths) - 1) - width) > 0:
        giving = [at for at in texts if widths[at] > least[at]]
        if not giving:
            return
        widest = max(giving, key=lambda at: widths[at])
        others = [widths[at] for at in giving if widths[at] < widths[widest]]
        floor = max(least[widest], *others) if others else least[widest]
        widths[widest] = max(floor, widths[widest] - over) if floor < widths[widest] else widths[widest] - 1


def _rows(columns: Sequence[TableColumn], widths: Sequence[int]) -> Callable[[Sequence[str]], str]:
    """What makes one row of its cells, of as many lines as its longest cell needs."""
    line = GAP.join(
        f"{{:{'>' if one.numeric else '<'}{width}}}" for one, width in zip(columns, widths, strict=True)
    )

    def row(cells: Sequence[str]) -> str:
        if all(map(_fits, cells, widths)):
            return f"{line.format(*cells).rstrip()}\n"
        pieces = [
            [cell] if one.numeric or len(cell) <= width else wrap(cell, width, break_on_hyphens=False)
            for cell, one, width in zip(cells, columns, widths, strict=True)
        ]
        lines = zip_longest(*pieces, fillvalue="")
        return "".join(f"{line.format(*texts).rstrip()}\n" for texts in lines)

    return row


def _fits(cell: str, width: int) -> bool:
    return len(cell) <= width

"""The rows of an answer as a table, as lines, JSON, CSV or Markdown."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from decimal import Decimal

from sitelog.base.text import printable
from sitelog.notation.quantities.quantity import Quantity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Protocol
else:
    Protocol = object

Cell = str | int | float | Quantity | None


class Heading(Protocol):
    """One column: its name, its type as the registry of subjects has it, the unit asked for if any.

    The type `measure` is a quantity that was computed, such as a mean.
    """

    @property
    def name(self) -> str:
        """What stands at the head of the column, and the key in JSON."""

    @property
    def type(self) -> str:
        """`text`, `number`, `quantity`, `measure`, `ratio`, `day`, `time` or `flag`."""

    @property
    def unit(self) -> str:
        """The unit that was asked for; empty where a value keeps its own."""

    @property
    def aside(self) -> bool:
        """Whether tables leave the column out, and only programs get it."""


class RowLike(Protocol):
    """One row: where it stands (an empty file where it is no entry's) and its cells."""

    @property
    def file(self) -> str:
        """The file of the entry; empty for a measure."""

    @property
    def line(self) -> int:
        """Its line there, from 1; 0 for a measure."""

    @property
    def text(self) -> str:
        """The line as written."""

    @property
    def cells(self) -> Sequence[Cell]:
        """The values, in the order of the columns."""


_DIGITS = 6  # of a computed value, for people
_CONVERTED = 12  # of a converted value, for programs

# What begins a formula in a spreadsheet (OWASP, "CSV Injection").
_FORMULA = frozenset("=+-@\t\r\n")
NUMERIC = frozenset({"number", "ratio", "quantity", "measure"})
"""The types of the columns that hold numbers, which stand to the right."""


def as_table(columns: Sequence[Heading], rows: Sequence[RowLike], width: int = 0) -> str:
    """Columns under their names; a quantity with its unit, a share in per cent, nothing for nothing.

    A unit that all rows of a column share stands in its head; long text is wrapped to the width, if given.
    """
    if not rows:
        return ""
    from sitelog.views.table import TableColumn, table_text

    cells = [row.cells for row in rows]
    return table_text(
        [
            TableColumn(
                printable(column.name),
                [printable(cell_text(column, every[at])) for every in cells],
                column.type in NUMERIC,
            )
            for at, column in enumerate(columns)
            if not column.aside
        ],
        width,
    )


def as_lines(columns: Sequence[Heading], rows: Sequence[RowLike]) -> str:
    """`file:line: the line as written`, for editors and search tools; each line once."""
    written = dict.fromkeys(f"{row.file}:{row.line}: {row.text}" for row in rows)
    return "".join(f"{printable(line)}\n" for line in written)


def as_json(columns: Sequence[Heading], rows: Sequence[RowLike]) -> str:
    """A list of flat objects with the fields as keys, in order; a share is a fraction (10 % is 0.1)."""
    import json

    objects = [
        {column.name: _json_value(column, cell) for column, cell in _cells(columns, row)} for row in rows
    ]
    if not objects:
        return "[]\n"
    items = ",\n".join(f"  {json.dumps(item, ensure_ascii=False)}" for item in objects)
    return f"[\n{items}\n]\n"


def as_csv(columns: Sequence[Heading], rows: Sequence[RowLike]) -> str:
    """RFC 4180, with a header; a quantity takes two columns, number (with its bound) and unit.

    Text that a spreadsheet would run as a formula gets a `'` in front: so spreadsheets mark text.
    """
    import csv
    import io

    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([name for column in columns for name in _csv_names(column)])
    for row in rows:
        writer.writerow([text for column, cell in _cells(columns, row) for text in _csv_cells(column, cell)])
    return out.getvalue()


def as_markdown(columns: Sequence[Heading], rows: Sequence[RowLike]) -> str:
    """A table in Markdown; nothing that a log holds is read as markup."""
    if not rows:
        return ""
    read = [column for column in columns if not column.aside]
    names = [markdown_text(column.name) for column in read]
    rule = ["---:" if column.type in NUMERIC else "---" for column in read]
    lines = [names, rule]
    lines += [
        [markdown_text(cell_text(column, cell)) for column, cell in _cells(columns, row) if not column.aside]
        for row in rows
    ]
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


FORMATS: dict[str, Callable[[Sequence[Heading], Sequence[RowLike]], str]] = {
    "table": as_table,
    "lines": as_lines,
    "json": as_json,
    "csv": as_csv,
    "markdown": as_markdown,
}


def cell_text(column: Heading, cell: Cell) -> str:
    """One cell for people."""
    if cell is None or isinstance(cell, str):
        return cell or ""
    if isinstance(cell, Quantity):
        from sitelog.notation.quantities import format_quantity

        if column.type == "measure":
            short = Decimal(f"{cell.number:.{_DIGITS}g}")
            if short != cell.number:  # what was rounded shows no zeros that nobody measured
                short = Decimal(f"{short.normalize():f}")
            return format_quantity(cell._replace(number=short))
        return format_quantity(cell, column.unit)
    if column.type == "ratio":
        percent = f"{float(cell) * 100:.1f}"
        if column.name == "probability":  # which is never certain, however it is rounded
            percent = {"100.0": ">99.9", "0.0": "<0.1"}.get(percent, percent)
        return f"{percent} %"
    if column.type == "flag":
        return "yes" if cell else "no"
    return f"{cell:.6g}" if isinstance(cell, float) else str(cell)


def _cells(columns: Sequence[Heading], row: RowLike) -> list[tuple[Heading, Cell]]:
    return list(zip(columns, row.cells, strict=True))


def _asked(column: Heading, cell: Quantity) -> tuple[Decimal, str]:
    """The number and the unit of a quantity, in the unit asked for where one was."""
    found = in_unit(cell, column.unit) if column.type != "measure" else cell
    return found.number, found.unit


def in_unit(cell: Quantity, unit: str) -> Quantity:
    """A quantity in another unit, to 12 digits; as it is without a unit, or where its kind has none such."""
    if not unit or unit == cell.unit:
        return cell
    from sitelog.notation.quantities import Problem, convert

    number = convert(cell, unit)
    if isinstance(number, Problem):  # a reading of another kind keeps its own unit
        return cell
    return cell._replace(number=Decimal(f"{number:.{_CONVERTED}g}"), unit=unit)


def _json_value(column: Heading, cell: Cell) -> object:
    if isinstance(cell, Quantity):
        number, unit = _asked(column, cell)
        whole = number == number.to_integral_value()
        value = {"value": int(number) if whole else float(number), "unit": unit}
        return {**value, "bound": cell.bound} if cell.bound else value
    return bool(cell) if column.type == "flag" and cell is not None else cell


def _csv_names(column: Heading) -> tuple[str, ...]:
    return (column.name, f"{column.name}_unit") if column.type in ("quantity", "measure") else (column.name,)


def _csv_cells(column: Heading, cell: Cell) -> tuple[str, ...]:
    if isinstance(cell, Quantity):
        number, unit = _asked(column, cell)
        return f"{cell.bound}{number:f}", unit
    text = "" if cell is None else repr(cell) if isinstance(cell, float) else harmless(str(cell))
    return (text, "") if column.type in ("quantity", "measure") else (text,)


_NUMBER = r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?"


def harmless(text: str) -> str:
    """Text that no spreadsheet runs; numbers stay numbers."""
    return f"'{text}" if text[:1] in _FORMULA and not re.fullmatch(_NUMBER, text) else text


def as_html(columns: Sequence[Heading], rows: Sequence[RowLike]) -> str:
    """A table in HTML, everything escaped."""
    from html import escape

    def line(tag: str, texts: Sequence[str]) -> str:
        cells = (
            f"<{tag}{_RIGHT if column.type in NUMERIC else ''}>{escape(printable(text))}</{tag}>"
            for column, text in zip(read, texts, strict=True)
        )
        return f"<tr>{''.join(cells)}</tr>\n"

    read = [column for column in columns if not column.aside]
    head = line("th", [column.name for column in read])
    texts = (
        [cell_text(column, cell) for column, cell in _cells(columns, row) if not column.aside] for row in rows
    )
    body = "".join(line("td", row) for row in texts)
    return f"<table>\n<thead>\n{head}</thead>\n<tbody>\n{body}</tbody>\n</table>\n"


_RIGHT = ' style="text-align: right"'
_MARKUP = frozenset("\\`*_{}[]()<>#+!|~&$")


def markdown_text(text: str) -> str:
    """Text in which Markdown reads no markup."""
    return "".join(f"\\{character}" if character in _MARKUP else character for character in printable(text))

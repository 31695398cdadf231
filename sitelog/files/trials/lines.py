"""A logger's file → rows of cells with their line numbers, whatever its delimiter and encoding. Streams."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from typing import NamedTuple, TextIO

from sitelog.files.trials.columns import HeaderFault, LoggerColumns, find_columns, is_unit_row, shown
from sitelog.files.trials.results import TrialFault

LONGEST_LINE = 100_000
"""Characters; a file with a longer one is no table."""

HEADER_WITHIN = 100
"""Lines above the header: who logged, with what, when."""

DELIMITERS = (",", ";", "\t", "|")


class TableLayout(NamedTuple):
    """How the rows of one file stand: which column is what, the header's cells, the first line below it."""

    file: str
    columns: LoggerColumns
    header: tuple[str, ...]
    first_line: int
    delimiter: str


class BadLineError(Exception):
    """A line that cannot be read; `trouble` says why. Never leaves this room."""

    def __init__(self, trouble: TrialFault) -> None:
        super().__init__(trouble.message)
        self.trouble = trouble


def open_text(file: str) -> TextIO:
    """The file as text: UTF-8, or UTF-16 where it begins with that mark. Other bytes become U+FFFD.

    Raises OSError.
    """
    with open(file, "rb") as stream:
        mark = stream.read(2)
    encoding = "utf-16" if mark in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    return open(file, encoding=encoding, errors="replace", newline="")


def _lines(stream: TextIO, file: str) -> Iterator[str]:
    number = 0
    while line := stream.readline(LONGEST_LINE):
        number += 1
        if len(line) == LONGEST_LINE:
            raise BadLineError(
                TrialFault(file, number, f"a line of more than {LONGEST_LINE} characters: this is no table")
            )
        if "\0" in line:
            raise BadLineError(TrialFault(file, number, "a byte of value zero: this is no table of text"))
        yield line


def find_layout(file: str) -> TableLayout | TrialFault:
    """Look for the header among the first lines. Raises OSError and BadLineError."""
    head: list[str] = []
    with open_text(file) as stream:
        for line in _lines(stream, file):
            head.append(line.rstrip("\r\n"))
            if len(head) == HEADER_WITHIN + 2:
                break
    if not any(line.strip() for line in head):
        return TrialFault(file, 1, "the file is empty")
    for at, line in enumerate(head[:HEADER_WITHIN]):
        for delimiter in DELIMITERS:
            cells = next(csv.reader([line.lstrip("#").lstrip()], delimiter=delimiter), [])
            if len(cells) < 2:
                continue
            units: Sequence[str] = ()
            if at + 1 < len(head):
                below = next(csv.reader([head[at + 1].lstrip("#").lstrip()], delimiter=delimiter), [])
                units = below if is_unit_row(below) else ()
            found = find_columns(cells, units)
            if isinstance(found, HeaderFault):
                return TrialFault(file, at + 1, found.message, found.help)
            if found is not None:
                return TableLayout(file, found, tuple(cells), at + 2 + bool(units), delimiter)
    message = (
        f"no header within the first {HEADER_WITHIN} lines names a time and a current, a power or a counter"
    )
    return TrialFault(
        file, 1, message, "name the columns with their units: time [s], current [A], voltage [V]"
    )


def rows(layout: TableLayout) -> Iterator[tuple[int, list[str] | None]]:
    """Each row below the header with its line; None for a header written again, where a logger began anew.

    Blank lines and comments are passed over. Raises OSError and BadLineError.
    """
    file = layout.file
    header = [cell.strip() for cell in layout.header]
    first = header[0]
    with open_text(file) as stream:
        lines = _lines(stream, file)
        for _ in range(layout.first_line - 1):
            next(lines, "")
        reader = csv.reader(lines, delimiter=layout.delimiter)
        try:
            for cells in reader:
                if not cells or (len(cells) == 1 and not cells[0].strip()) or cells[0].startswith("#"):
                    continue
                number = layout.first_line - 1 + reader.line_num
                if cells[0].strip() == first and [cell.strip() for cell in cells] == header:
                    yield number, None
                else:
                    yield number, cells
        except csv.Error as error:
            number = layout.first_line - 1 + reader.line_num
            raise BadLineError(
                TrialFault(file, number, f"the line is no row of a table: {shown(str(error))}")
            ) from error

"""The answer to a question as a Python program has it: a sequence of rows, each a mapping of its fields."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

TYPE_CHECKING = False
if TYPE_CHECKING:
    from datetime import date
    from typing import TypeAlias, overload

    from sitelog.asking.question.result import StoredRow
    from sitelog.asking.question.statement import Output
    from sitelog.asking.store.answer import LazyAnswer
    from sitelog.logs import Logs
    from sitelog.notation.quantities.quantity import Quantity

    FieldValue: TypeAlias = str | int | float | bool | date | Quantity | None

_MOST_IN_A_NOTEBOOK = 500


class Row(Mapping[str, "FieldValue"]):
    """One row of an answer: its fields by name, and the file, the line and the text it stands in.

    A quantity is a `Quantity` (number and unit as written, or in the unit that `show FIELD in UNIT` asks for;
    kind; base, the number in the kind's base unit),
    a day a `date`, a flag a bool, a share a fraction, what is absent None. `cells` are the values as stored.
    """

    __slots__ = ("_columns", "_stored")

    def __init__(self, columns: tuple[Output, ...], stored: StoredRow) -> None:
        self._columns = columns
        self._stored = stored

    @property
    def file(self) -> str:
        """The file of the entry; empty for a count or another measure."""
        return self._stored.file

    @property
    def line(self) -> int:
        """The line of the entry; 0 for a count or another measure."""
        return self._stored.line

    @property
    def text(self) -> str:
        """The entry as written."""
        return self._stored.text

    @property
    def cells(self) -> tuple[str | int | float | Quantity | None, ...]:
        """The values in the order of the answer's columns, as they are stored."""
        return self._stored.cells

    def __getitem__(self, name: str) -> FieldValue:
        for column, cell in zip(self._columns, self._stored.cells, strict=True):
            if column.name == name:
                if cell is None:
                    return None
                if column.type == "flag":
                    return bool(cell)
                if column.type == "day":
                    from datetime import date

                    return date.fromisoformat(str(cell))
                if column.unit and column.type == "quantity":
                    from sitelog.views.rows import in_unit

                    return in_unit(cell, column.unit) if isinstance(cell, tuple) else cell
                return cell
        raise KeyError(name)

    def __iter__(self) -> Iterator[str]:
        return iter(column.name for column in self._columns)

    def __len__(self) -> int:
        return len(self._columns)

    def __repr__(self) -> str:
        return f"Row({dict(self)!r})"


class Answer(Sequence[Row]):
    """The rows that answer a question, each made when it is first asked for.

    `columns` say what the fields are; `undecided` counts the rows that a value such as `>999` kept out;
    `notes` say what else was left out and why; `lines` is True where each row is an entry of a file;
    `tree` and `query` say how the question was
    understood. `logs` are those that were asked, as they stood on the day that was asked about.
    """

    def __init__(self, logs: Logs, answer: LazyAnswer) -> None:
        self.logs = logs
        self.question = answer.question.text
        self.columns = answer.query.columns
        self.undecided = answer.undecided
        self.notes = answer.notes
        self.lines = answer.query.lines
        self.tree = answer.question
        self.query = answer.query
        self._source = answer.rows
        self._rows: list[Row] = []

    def __iter__(self) -> Iterator[Row]:
        at = 0
        while at < len(self._rows) or self._fetch():
            yield self._rows[at]
            at += 1

    def __len__(self) -> int:
        while self._fetch():
            pass
        return len(self._rows)

    def __bool__(self) -> bool:
        return bool(self._rows) or self._fetch()

    if TYPE_CHECKING:

        @overload
        def __getitem__(self, at: int) -> Row: ...
        @overload
        def __getitem__(self, at: slice) -> list[Row]: ...

    def __getitem__(self, at: int | slice) -> Row | list[Row]:
        while (isinstance(at, slice) or at < 0 or at >= len(self._rows)) and self._fetch():
            pass
        return self._rows[at]

    def _fetch(self) -> bool:
        """Make one more row; False where there is none."""
        stored = next(self._source, None)
        if stored is None:
            return False
        self._rows.append(Row(self.columns, stored))
        return True

    def __repr__(self) -> str:
        return f"<answer to {self.question!r}>"

    def __str__(self) -> str:
        from sitelog.views.rows import as_table

        return as_table(self.columns, list(self))

    def _repr_html_(self) -> str:
        """The table for a notebook, below what has to stand above every answer."""
        from html import escape

        from sitelog.views.findings import CAUTION, headlines_text
        from sitelog.views.rows import as_html

        headlines = headlines_text(self.logs.loud).splitlines()
        head = "".join(f"<p><strong>{escape(line)}</strong></p>\n" for line in headlines)
        shown = self[:_MOST_IN_A_NOTEBOOK]
        more = len(self) - len(shown)
        rest = f"<p>and {more} more</p>\n" if more else ""
        if self.undecided:
            rest += f"<p>{self.undecided} left out: a value such as &gt;999 does not decide it</p>\n"
        rest += "".join(f"<p>{escape(note)}</p>\n" for note in self.notes)
        return f"{head}{as_html(self.columns, shown)}{rest}<p>{escape(CAUTION)}</p>\n"

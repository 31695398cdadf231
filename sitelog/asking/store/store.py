"""One table for each subject, made from the registry; a quantity is stored with all its parts."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from sitelog.asking.store.functions import Greatest, Least, Median, MostFrequent, fold, natural_order
from sitelog.asking.subjects import HISTORIES, SUBJECTS, Column, Subject
from sitelog.base.memory import remembered
from sitelog.notation.quantities.quantity import Quantity

TYPE_CHECKING = False
if TYPE_CHECKING:
    import sqlite3
    from typing import Any

_IDENTIFIER = r"[a-z][a-z0-9_]*"
_SQL_TYPES = {"number": "INTEGER", "flag": "INTEGER", "ratio": "REAL"}
_AGGREGATES = (
    ("median", 1, Median),
    ("usual", 1, MostFrequent),
    ("least_of", 4, Least),
    ("greatest_of", 4, Greatest),
)


MOST_ROWS = 1_000_000  # of a person's own statement
_LONGEST = 10_000_000  # bytes of one value of it
_STEPS = 100_000  # steps of the database's machine between two looks at the clock

# How SQLite says that a statement is beyond its limits (www.sqlite.org/limits.html).
_LIMITS = ("parser stack overflow", "Expression tree is too large", "too many SQL variables")


class TooMuchError(ValueError):
    """A statement with more conditions, brackets or values than the database takes."""


class StatementError(ValueError):
    """A statement of a person's own that cannot be run; the text is the database's."""


class Store:
    """Rows by subject. `path` is a file, or `:memory:` for a store that lives as long as the process.

    A `quantity` column `value` becomes `value` (base unit), `value_number` (as written), `value_unit`,
    `value_bound` and `value_kind`. For SQL there are the collation `natural_order` (numbers within text by
    size), the function `fold` (letter case away) and the aggregates `median` and `usual` (most often).
    """

    def __init__(self, subjects: Mapping[str, Subject] = SUBJECTS, path: str = ":memory:") -> None:
        import sqlite3

        self._lend(subjects, sqlite3.connect(path))
        self._connection.execute("PRAGMA synchronous = OFF")
        for subject in self._tables.values():
            self._create(subject)

    def _lend(self, subjects: Mapping[str, Subject], connection: sqlite3.Connection) -> None:
        """Take a connection, and lend it what SQL has not."""
        self.subjects = subjects
        self._names: dict[str, frozenset[str]] = {}  # as they are stored now, for as long as nothing is added
        self._kinds: dict[tuple[str, str, str], frozenset[str]] = {}  # so are these
        self._others: Callable[[str], frozenset[str]] | None = None
        self._connection = connection
        connection.create_collation("natural_order", natural_order)
        connection.create_function("fold", 1, fold, deterministic=True)
        for name, count, aggregate in _AGGREGATES:
            connection.create_aggregate(name, count, aggregate)  # type: ignore[arg-type]  # of known steps
        histories = (HISTORIES[name] for name in subjects if name in HISTORIES)
        self._tables = {subject.stored: subject for subject in (*subjects.values(), *histories)}

    def add(self, subject: str, rows: Iterable[Sequence[object]]) -> None:
        """Store rows, each in the order of the subject's `all_columns`."""
        self._forget_names()
        table = self._tables[subject]
        marks = ", ".join("?" * len(column_names(table)))
        with self._connection:
            self._connection.executemany(
                f'INSERT INTO "{subject}" VALUES ({marks})', as_stored(rows, wide_columns(table))
            )

    def _forget_names(self) -> None:
        self._names.clear()
        self._kinds.clear()

    def select(self, sql: str, params: Sequence[object] = ()) -> Iterator[tuple[Any, ...]]:
        """The rows of a statement; TooMuchError where it is beyond what the database can work through."""
        import sqlite3

        try:
            return iter(self._connection.execute(sql, params))
        except sqlite3.OperationalError as error:
            if any(limit in str(error) for limit in _LIMITS):
                raise TooMuchError(str(error)) from None
            raise

    def read(
        self, sql: str, is_late: Callable[[], bool] = lambda: False
    ) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """The column names and rows of a person's own statement, which may read and nothing else.

        It ends once `is_late` says so, and with more rows or longer values than anybody reads.
        """
        import sqlite3

        reading = (
            sqlite3.SQLITE_SELECT,
            sqlite3.SQLITE_READ,
            sqlite3.SQLITE_FUNCTION,
            sqlite3.SQLITE_RECURSIVE,
        )

        def authorize(action: int, *_: object) -> int:
            return sqlite3.SQLITE_OK if action in reading else sqlite3.SQLITE_DENY

        connection = self._connection
        connection.execute("PRAGMA query_only = ON")
        connection.set_authorizer(authorize)
        connection.set_progress_handler(lambda: int(is_late()), _STEPS)
        longest = connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _LONGEST)
        try:
            cursor = connection.execute(sql)
            rows = cursor.fetchmany(MOST_ROWS + 1)
        except (sqlite3.Error, sqlite3.Warning, UnicodeError) as error:
            late = "interrupted" in str(error)
            raise StatementError("it takes too long" if late else str(error)) from None
        finally:
            connection.set_progress_handler(None, 0)
            connection.set_authorizer(None)
            connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, longest)
            connection.execute("PRAGMA query_only = OFF")
        if len(rows) > MOST_ROWS:
            cursor.close()
            raise StatementError(f"it gives more than {MOST_ROWS} rows; `limit` takes fewer")
        return tuple(item[0] for item in cursor.description or ()), rows

    def names(self, column: str) -> frozenset[str]:
        """Every text stored in the columns of this name, over all subjects."""
        if column not in self._names:
            found = self._stored_names(column)
            if self._others is not None:
                found |= self._others(column)
            self._names[column] = frozenset(found)
        return self._names[column]

    def _stored_names(self, column: str) -> set[str]:
        found: set[str] = set()
        for subject in self._tables.values():
            if any(other.name == column for other in subject.all_columns):
                distinct = self.select(f'SELECT DISTINCT "{column}" FROM "{subject.stored}"')
                found.update(str(row[0]) for row in distinct if row[0])
        return found

    def know(self, others: Callable[[str], frozenset[str]]) -> None:
        """Take other names, by column, for known too: a site not yet begun is no slip of the pen."""
        self._forget_names()
        self._others = others

    @property
    def is_past(self) -> bool:
        """Whether these are the rows of an earlier day, and names of later days are known too."""
        return self._others is not None

    def kinds(self, subject: str, column: str, what: str) -> frozenset[str]:
        """Every quantity kind stored in a column, of the rows of one `what` (of all where empty)."""
        key = subject, column, what
        if key not in self._kinds:
            sql = f'SELECT DISTINCT "{column}_kind" FROM "{subject}"'
            where, spelt = "", list[str]()
            if what:  # what is equal but for the case of ASCII letters is equal folded too
                spelt = [name for name in self.names("what") if name.casefold() == what.casefold()]
                where = f' WHERE "what" COLLATE NOCASE IN ({", ".join("?" * len(spelt))})'
            self._kinds[key] = frozenset(row[0] for row in self.select(sql + where, spelt) if row[0])
        return self._kinds[key]

    def states(self, subject: str) -> frozenset[str]:
        """None: nothing here can be sought by them."""
        return frozenset()

    def close(self) -> None:
        """Let go of the database."""
        self._connection.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _create(self, subject: Subject) -> None:
        columns = [pair for column in subject.all_columns for pair in _sql_columns(column)]
        names = [name for name, _ in columns]
        for name in (subject.stored, *names):
            if not re.fullmatch(_IDENTIFIER, name):
                raise ValueError(f"{name!r} is no name for a subject or a column")
        if len(set(names)) < len(names):
            raise ValueError(f"{subject.name} have two columns of one name")
        quoted = ", ".join(f'"{name}" {sql_type}' for name, sql_type in columns)
        self._connection.execute(f'CREATE TABLE "{subject.stored}" ({quoted})')


def column_names(subject: Subject) -> tuple[str, ...]:
    """The columns of a subject's table, in order."""
    return tuple(name for column in subject.all_columns for name, _ in _sql_columns(column))


def wide_columns(subject: Subject) -> tuple[int, ...]:
    """Which of a subject's columns are quantities, that are stored in all their parts."""
    return tuple(place for place, column in enumerate(subject.all_columns) if column.type == "quantity")


def as_stored(rows: Iterable[Sequence[object]], wide: tuple[int, ...]) -> Iterable[Sequence[object]]:
    """Rows as they stand in a table."""
    return [_flat(row, wide) for row in rows] if wide else rows


def _sql_columns(column: Column) -> tuple[tuple[str, str], ...]:
    """Name and SQL type of each column that a field takes."""
    if column.type != "quantity":
        return ((column.name, _SQL_TYPES.get(column.type, "TEXT")),)
    parts = ("number", "unit", "bound", "kind")
    return (column.name, "REAL"), *((f"{column.name}_{part}", "TEXT") for part in parts)


def _flat(row: Sequence[object], wide: tuple[int, ...]) -> list[object]:
    flat: list[object] = []
    start = 0
    for place in wide:
        flat += row[start:place]
        value = row[place]
        flat += _parts(value) if isinstance(value, Quantity) else _NO_PARTS
        start = place + 1
    flat += row[start:]
    return flat


_NO_PARTS: tuple[object, ...] = (None,) * 5


@remembered(2000)  # a limit stands in many rows, as the same object
def _parts(value: Quantity) -> tuple[object, ...]:
    """The columns of a quantity."""
    number: Decimal = value.number
    return float(value.base), f"{number:f}", value.unit, value.bound, value.kind

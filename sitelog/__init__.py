"""The site log of the installer of wall-mounted battery storage.

    import sitelog

    logs = sitelog.load(["jobs"])
    for joint in logs.ask("joints under torque"):
        print(joint["site"], joint["place"], joint["value"], joint.file, joint.line)

What comes of it is a record and an aid: local code, the maker's instructions and a licensed person decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

TYPE_CHECKING = False
if TYPE_CHECKING:
    import os
    from collections.abc import Callable, Iterable
    from datetime import date
    from typing import TypeAlias, TypeVar, overload

    from sitelog.asking.question.compiler import Output
    from sitelog.asking.question.errors import QuestionError
    from sitelog.asking.question.result import Row as Stored
    from sitelog.asking.question.tree import Question
    from sitelog.asking.store.answer import Begun, Table
    from sitelog.asking.store.store import Store
    from sitelog.findings.finding import Finding
    from sitelog.fleet.index import Index
    from sitelog.fleet.workspace import Workspace
    from sitelog.judging.judged import Summary
    from sitelog.notation.quantities.quantity import Quantity

    _Given = TypeVar("_Given")
    Value: TypeAlias = str | int | float | bool | date | Quantity | None

__all__ = ["Answer", "Logs", "QuestionError", "Row", "__version__", "load"]

__version__ = "0.2.0"

_MOST_IN_A_NOTEBOOK = 500


def load(
    paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]],
    today: date | None = None,
    *,
    cache: str = "",
    processors: int = 1,
) -> Logs:
    """Read and judge the logs, sheets and kits in files and folders, as things stand on a day (or today).

    What is wrong with a file is a finding, never an exception. With a folder to keep an index in (`cache`),
    only what has changed since the last time is read and judged; where that is much, on so many processors.
    """
    from os import PathLike, fspath

    if today is None:
        from sitelog.base.clock import this_day

        today = this_day()
    several = [paths] if isinstance(paths, str | PathLike) else list(paths)
    return Logs(tuple(fspath(path) for path in several), today, cache=cache, processors=processors)


class Logs:
    """Logs, read and judged: what can be asked of them, what is wrong, and each site in figures."""

    def __init__(
        self,
        paths: tuple[str, ...],
        today: date,
        workspace: Workspace | None = None,
        cache: str = "",
        processors: int = 1,
    ) -> None:
        self._paths = paths
        self._today = today
        self._cache = cache
        self._processors = processors
        self._read = workspace
        self._index = self._opened() if workspace is None else None
        if self._index is None:
            self._files()  # read now: what stands in the files now is what is asked about
        self._store: Store | None = None
        self._histories: set[str] = set()
        self._then: dict[date, Logs] = {}
        self._now: Logs | None = None

    @property
    def today(self) -> date:
        """The day by which everything was judged."""
        return self._today

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything that is wrong or missing, in the order of files and lines."""
        return tuple(self._files().findings)

    @property
    def sites(self) -> tuple[Summary, ...]:
        """Each site in figures: joints, readings, what fails, what is missing."""
        return tuple(self._files().sites)

    @property
    def loud(self) -> tuple[Summary, ...]:
        """The sites with something that stands above every answer: an open danger, a job left half way."""
        return tuple(self._index.loud if self._index else (one for one in self.sites if one.headlines))

    @property
    def errors(self) -> int:
        """How many of the findings are errors."""
        if self._index is not None:
            return self._index.errors
        return sum(one.severity == "error" for one in self.findings)

    @property
    def readable(self) -> bool:
        """Whether any file could be read."""
        return self._index.readable if self._index is not None else bool(self._files().readable)

    def _files(self) -> Workspace:
        """What stands in the files, read and judged."""
        if self._read is None:
            from sitelog.fleet.workspace import load as load_workspace

            self._read = load_workspace(self._paths, self._today)
        return self._read

    def _opened(self) -> Index | None:
        """The index, brought up to date; None without a folder to keep it in, or where it does not serve."""
        if not self._cache:
            return None
        from sitelog.base.clock import nanoseconds
        from sitelog.fleet.index import open_index

        return open_index(self._paths, self._today, self._cache, nanoseconds, processors=self._processors)

    def ask(self, question: str | Question) -> Answer:
        """The rows that answer a question such as `joints under torque`, or one already parsed.

        Raises `QuestionError` where the question cannot mean anything, with its `message`, the `column` (from
        1) and the `end_column` of what is meant, and as `help` what would have worked.
        """
        from sitelog.asking.question.read import parse
        from sitelog.asking.question.selecting import as_of
        from sitelog.asking.store.answer import begin
        from sitelog.asking.subjects import HISTORIES, SUBJECTS

        tree = parse(question, SUBJECTS) if isinstance(question, str) else question
        then = as_of(tree, self.today)
        logs = self if then is None or then == self.today else self.as_of(then)
        subject = tree.subject.text.lower()
        history = subject if tree.history is not None and subject in HISTORIES else ""
        return Answer(logs, logs._using((history,), lambda store: begin(store, tree, logs.today)))

    def query(self, sql: str, is_late: Callable[[], bool] = lambda: False) -> Table:
        """What your own reading SQL gives, over the tables of all subjects and histories.

        Raises `sitelog.asking.store.StatementError` where it cannot be run, and once `is_late` says so.
        """
        from sitelog.asking.store.answer import read_from
        from sitelog.asking.subjects import HISTORIES

        return self._using(tuple(HISTORIES), lambda store: read_from(store, sql, is_late))

    def as_of(self, day: date) -> Logs:
        """The same logs as they stood at the end of a day, judged by that day."""
        from sitelog.fleet.workspace import load as load_workspace

        if day not in self._then:
            self._then[day] = Logs(self._paths, day, load_workspace(self._paths, day, until=day))
            self._then[day]._now = self
        return self._then[day]

    def _using(self, histories: tuple[str, ...], use: Callable[[Store], _Given]) -> _Given:
        """What a store gives that has the rows of these histories too."""
        if self._index is not None:
            from sitelog.fleet.index import NotServingError

            try:
                return self._index.use(filter(None, histories), use)
            except NotServingError:
                self._index = None  # the files themselves are there
        return use(self._filled(*histories))

    def _filled(self, *histories: str) -> Store:
        from functools import partial

        from sitelog.asking.store import Store
        from sitelog.fleet.workspace import rows

        wanted = set(histories) - self._histories - {""}
        if self._store is not None and not wanted:
            return self._store
        found = rows(self._files(), sorted(wanted))
        if self._store is None:
            self._store, adding = Store(), found
            if self._now is not None:
                self._store.know(partial(_names, self._now))
        else:
            adding = {f"{name}_history": found.get(f"{name}_history", []) for name in wanted}
        for name, some in adding.items():
            self._store.add(name, some)
        self._histories |= wanted
        return self._store


def _names(logs: Logs, column: str) -> frozenset[str]:
    return logs._using((), lambda store: store.names(column))


class Row(Mapping[str, "Value"]):
    """One row of an answer: its fields by name, and the file, the line and the text it stands in.

    A quantity is a `Quantity` (number and unit as written, kind, base: the number in the kind's base unit),
    a day a `date`, a flag a bool, a share a fraction, what is absent None. `cells` are the values as stored.
    """

    __slots__ = ("_columns", "_stored")

    def __init__(self, columns: tuple[Output, ...], stored: Stored) -> None:
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

    def __getitem__(self, name: str) -> Value:
        for column, cell in zip(self._columns, self._stored.cells, strict=True):
            if column.name == name:
                if cell is None:
                    return None
                if column.type == "flag":
                    return bool(cell)
                if column.type == "day":
                    from datetime import date

                    return date.fromisoformat(str(cell))
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

    `columns` say what the fields are; `undecided` counts the rows that a value such as `>999` kept out.
    """

    def __init__(self, logs: Logs, begun: Begun) -> None:
        self.question = begun.question.text
        self.columns = begun.query.columns
        self.undecided = begun.undecided
        self.lines = begun.query.lines
        self.tree = begun.question
        self.query = begun.query
        self.logs = logs
        self._coming = begun.rows
        self._made: list[Row] = []

    def __iter__(self) -> Iterator[Row]:
        at = 0
        while at < len(self._made) or self._more():
            yield self._made[at]
            at += 1

    def __len__(self) -> int:
        while self._more():
            pass
        return len(self._made)

    def __bool__(self) -> bool:
        return bool(self._made) or self._more()

    if TYPE_CHECKING:

        @overload
        def __getitem__(self, at: int) -> Row: ...
        @overload
        def __getitem__(self, at: slice) -> list[Row]: ...

    def __getitem__(self, at: int | slice) -> Row | list[Row]:
        while (isinstance(at, slice) or at < 0 or at >= len(self._made)) and self._more():
            pass
        return self._made[at]

    def _more(self) -> bool:
        """Make one row more, if there is one."""
        stored = next(self._coming, None)
        if stored is None:
            return False
        self._made.append(Row(self.columns, stored))
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
        return f"{head}{as_html(self.columns, shown)}{rest}<p>{escape(CAUTION)}</p>\n"


def __getattr__(name: str) -> object:
    """`QuestionError`, loaded when it is asked for."""
    if name == "QuestionError":
        from sitelog.asking.question.errors import QuestionError

        return QuestionError
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")

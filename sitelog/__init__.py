"""The site log of the installer of wall-mounted battery storage.

    import sitelog

    logs = sitelog.load(["jobs"])
    for joint in logs.ask("joints under torque"):
        print(joint["site"], joint["place"], joint["value"], joint.file, joint.line)

What comes of it is a record and an aid: local code, the maker's instructions and a licensed person decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    import os
    from collections.abc import Iterable
    from datetime import date

    from sitelog.ask.compiler import Output
    from sitelog.ask.result import Row as Stored
    from sitelog.findings.finding import Finding
    from sitelog.judged import Summary
    from sitelog.quantities.quantity import Quantity
    from sitelog.store.store import Store
    from sitelog.workspace import Workspace

    Value: TypeAlias = str | int | float | bool | date | Quantity | None

__all__ = ["Answer", "Logs", "Row", "load"]

_MOST_IN_A_NOTEBOOK = 500


def load(paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]], today: date | None = None) -> Logs:
    """Read and judge the logs, sheets and kits in files and folders, as things stand on a day (or today).

    What is wrong with a file is a finding, never an exception.
    """
    from os import PathLike, fspath

    from sitelog.workspace import load as load_workspace

    if today is None:
        from sitelog.cli.clock import this_day

        today = this_day()
    several = [paths] if isinstance(paths, str | PathLike) else list(paths)
    names = tuple(fspath(path) for path in several)
    return Logs(names, load_workspace(names, today))


class Logs:
    """Logs, read and judged: what can be asked of them, what is wrong, and each site in figures."""

    def __init__(self, paths: tuple[str, ...], workspace: Workspace) -> None:
        self._paths = paths
        self._workspace = workspace
        self._store: Store | None = None
        self._histories: set[str] = set()
        self._then: dict[date, Logs] = {}
        self._now: Logs | None = None

    @property
    def today(self) -> date:
        """The day by which everything was judged."""
        return self._workspace.today

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything that is wrong or missing, in the order of files and lines."""
        return tuple(self._workspace.findings)

    @property
    def sites(self) -> tuple[Summary, ...]:
        """Each site in figures: joints, readings, what fails, what is missing."""
        return tuple(self._workspace.sites)

    @property
    def readable(self) -> bool:
        """Whether any file could be read."""
        return bool(self._workspace.readable)

    def ask(self, question: str) -> Answer:
        """The rows that answer a question such as `joints under torque`.

        Raises `sitelog.ask.errors.QuestionError` (with the columns and what would have worked) where the
        question cannot mean anything.
        """
        from sitelog.ask.read import parse
        from sitelog.ask.selecting import as_of
        from sitelog.store.answer import begin
        from sitelog.subjects import HISTORIES, SUBJECTS

        tree = parse(question, SUBJECTS)
        then = as_of(tree, self.today)
        logs = self if then is None or then == self.today else self.as_of(then)
        subject = tree.subject.text.lower()
        history = subject if tree.history is not None and subject in HISTORIES else ""
        return Answer(logs, question, begin(logs._filled(history), question, logs.today))

    def as_of(self, day: date) -> Logs:
        """The same logs as they stood at the end of a day, judged by that day."""
        from sitelog.workspace import load as load_workspace

        if day not in self._then:
            self._then[day] = Logs(self._paths, load_workspace(self._paths, day, until=day))
            self._then[day]._now = self
        return self._then[day]

    def _filled(self, history: str) -> Store:
        from sitelog.store import Store
        from sitelog.workspace import rows

        wanted = {history} - self._histories - {""}
        if self._store is not None and not wanted:
            return self._store
        found = rows(self._workspace, sorted(wanted))
        if self._store is None:
            self._store, adding = Store(), found
            if self._now is not None:
                self._store.know(self._now._filled(""))
        else:
            adding = {f"{name}_history": found.get(f"{name}_history", []) for name in wanted}
        for name, some in adding.items():
            self._store.add(name, some)
        self._histories |= wanted
        return self._store


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

    def __init__(self, logs: Logs, question: str, begun: _Begun) -> None:
        self.question = question
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

    def __getitem__(self, at):  # type: ignore[no-untyped-def]  # an int gives a Row, a slice a list of them
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

        headlines = headlines_text(self.logs.sites).splitlines()
        head = "".join(f"<p><strong>{escape(line)}</strong></p>\n" for line in headlines)
        shown = self[:_MOST_IN_A_NOTEBOOK]
        more = len(self) - len(shown)
        rest = f"<p>and {more} more</p>\n" if more else ""
        if self.undecided:
            rest += f"<p>{self.undecided} left out: a value such as &gt;999 does not decide it</p>\n"
        return f"{head}{as_html(self.columns, shown)}{rest}<p>{escape(CAUTION)}</p>\n"


if TYPE_CHECKING:
    from sitelog.store.answer import Begun as _Begun

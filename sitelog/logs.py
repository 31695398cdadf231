"""Logs as a Python program has them: loaded from files and folders, judged, and asked."""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    import os
    from collections.abc import Callable, Iterable
    from datetime import date
    from typing import TypeVar

    from sitelog.answers import Answer
    from sitelog.asking.question.request import Request
    from sitelog.asking.question.tree import Question
    from sitelog.asking.store import Store
    from sitelog.asking.store.answer import SqlResult
    from sitelog.findings.finding import Finding
    from sitelog.fleet.index import Index
    from sitelog.fleet.workspace import Workspace
    from sitelog.judging.judged import Summary

    _Used = TypeVar("_Used")


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
    several = [paths] if isinstance(paths, str | PathLike) else paths
    names = tuple(fspath(path) for path in several)
    index = None
    if cache:
        from sitelog.base.clock import nanoseconds
        from sitelog.fleet.index import IndexRequest, open_index

        index = open_index(IndexRequest(names, today, cache, nanoseconds, (), processors))
    return Logs(names, today, index)


class Logs:
    """Logs, read and judged: what can be asked of them, what is wrong, and each site in figures."""

    def __init__(
        self, paths: tuple[str, ...], today: date, index: Index | None = None, later: Logs | None = None
    ) -> None:
        """The logs in these paths on a day, from an index where one serves.

        With `later`, the same logs as they are now, these are the logs as they stood at the end of `today`.
        """
        self._paths = paths
        self._today = today
        self._index = index
        self._later = later
        self._workspace: Workspace | None = None
        self._store: Store | None = None
        self._histories: set[str] = set()
        self._earlier: dict[date, Logs] = {}
        if index is None:
            self._files()  # read now: what stands in the files now is what is asked about

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
        return tuple(self._index.loud if self._index else (site for site in self.sites if site.headlines))

    @property
    def errors(self) -> int:
        """How many of the findings are errors."""
        if self._index is not None:
            return self._index.errors
        return sum(finding.severity == "error" for finding in self.findings)

    @property
    def readable(self) -> bool:
        """Whether any file could be read."""
        return self._index.readable if self._index is not None else bool(self._files().readable)

    def ask(self, question: str | Question | Request) -> Answer:
        """The rows that answer a question such as `joints under torque`, or one already parsed.

        Raises `QuestionError` where the question cannot mean anything, with its `message`, the `column` (from
        1) and the `end_column` of what is meant, and as `help` what would have worked.
        """
        from sitelog.answers import Answer
        from sitelog.asking.question.request import Request, request_of
        from sitelog.asking.store.answer import begin

        request = question if isinstance(question, Request) else request_of(question, self.today)
        logs = self if request.day == self.today else self.as_of(request.day)
        histories = (request.history,) if request.history else ()
        return Answer(logs, logs._using(histories, lambda store: begin(store, request)))

    def query(self, sql: str, is_late: Callable[[], bool] = lambda: False) -> SqlResult:
        """What your own reading SQL gives, over the tables of all subjects and histories.

        Raises `sitelog.asking.store.StatementError` where it cannot be run, and once `is_late` says so.
        """
        from sitelog.asking.store.answer import read_from
        from sitelog.asking.subjects import HISTORIES

        return self._using(tuple(HISTORIES), lambda store: read_from(store, sql, is_late))

    def as_of(self, day: date) -> Logs:
        """The same logs as they stood at the end of a day, judged by that day."""
        if day not in self._earlier:
            self._earlier[day] = Logs(self._paths, day, later=self)
        return self._earlier[day]

    def _files(self) -> Workspace:
        """What stands in the files, read and judged."""
        if self._workspace is None:
            from sitelog.fleet.workspace import load as load_workspace

            until = self._today if self._later is not None else None
            self._workspace = load_workspace(self._paths, self._today, until=until)
        return self._workspace

    def _using(self, histories: tuple[str, ...], use: Callable[[Store], _Used]) -> _Used:
        """What a function makes of a store that has the rows of these histories too."""
        if self._index is not None:
            from sitelog.fleet.index import NotServingError

            try:
                return self._index.use(histories, use)
            except NotServingError:
                self._index = None  # the files themselves are there
        return use(self._filled(set(histories)))

    def _filled(self, histories: set[str]) -> Store:
        """The store in memory, with the rows of all subjects and of these histories."""
        from sitelog.asking.store import Store
        from sitelog.fleet.workspace import rows

        wanted = histories - self._histories
        if self._store is not None and not wanted:
            return self._store
        found = rows(self._files(), sorted(wanted))
        if self._store is None:
            self._store = Store()
            if self._later is not None:
                self._store.know(self._later._names)
        else:
            found = {table: found.get(table, []) for table in (f"{name}_history" for name in wanted)}
        for table, some in found.items():
            self._store.add(table, some)
        self._histories |= wanted
        return self._store

    def _names(self, column: str) -> frozenset[str]:
        """Every text that stands in a column now: what was not there yet on an earlier day is no slip."""
        return self._using((), lambda store: store.names(column))

"""The index file: a store on the disk with the rows of every site, and the files they were made from."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import chain

from sitelog.asking.store.schema import (
    ASKED,
    CACHE,
    INDEXES,
    MARK,
    NAMED,
    ROOM,
    TABLES,
    WAIT,
    BusyError,
    DamagedError,
    KeptFile,
    KeptSite,
    error_of,
)
from sitelog.asking.store.store import Store, TooMuchError, column_names
from sitelog.asking.subjects import SUBJECTS, Subject

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

__all__ = ["NAMED", "BusyError", "DamagedError", "KeptFile", "KeptSite", "KeptStore"]


class KeptStore(Store):
    """Rows in a file. What is written until `end` others see whole, or not at all.

    Raises BusyError or DamagedError where the file does not serve.
    """

    def __init__(self, path: str, version: str, writing: bool) -> None:
        import sqlite3

        self.path = path
        self.is_new = False
        self._counts: dict[str, Counter[str]] = defaultdict(Counter)
        mode = "rwc" if writing else "ro"
        connection = None
        try:
            connection = sqlite3.connect(
                f"file:{_quoted(path)}?mode={mode}", WAIT, isolation_level=None, uri=True
            )
            self._lend(SUBJECTS, connection)
            if writing:
                # A crash of the machine must not leave a file that looks whole and is not.
                connection.execute("PRAGMA synchronous = NORMAL")
                connection.execute("BEGIN IMMEDIATE")
                if not connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                    self._make(version)
            else:
                connection.execute("BEGIN")
            if connection.execute("PRAGMA application_id").fetchone()[0] != MARK:
                raise DamagedError("not an index")
            if self.fact("version") != version:
                raise DamagedError("made by another version")
        except sqlite3.Error as error:
            if connection is not None:
                connection.close()
            raise error_of(error) from None
        except DamagedError:
            if connection is not None:
                connection.close()
            raise

    def _lend(self, subjects: Mapping[str, Subject], connection: Any) -> None:
        super()._lend(subjects, connection)
        connection.execute(f"PRAGMA cache_size = -{CACHE}")

    def _make(self, version: str) -> None:
        self.is_new = True
        self._connection.execute(f"PRAGMA application_id = {MARK}")
        for statement in filter(str.strip, TABLES.split(";\n")):
            self._connection.execute(statement)
        for subject in self._tables.values():
            self._create(subject)
        self.set_facts({"version": version})

    def begin(self) -> None:
        """Read from now on what stands now, whatever others write."""
        self._do("BEGIN")

    def end(self) -> None:
        """Let others see what was written; read from now on what they write."""
        if self._connection.in_transaction:
            self._do("COMMIT")

    # ---- reading ---------------------------------------------------------------------------------
    def select(self, sql: str, params: Sequence[object] = ()) -> Iterator[tuple[Any, ...]]:
        """The rows of a statement, all at once: damage shows before the first is given."""
        import sqlite3

        try:
            return iter(list(super().select(sql, params)))
        except (TooMuchError, RecursionError):
            raise
        except sqlite3.Error as error:
            raise error_of(error) from None

    def fact(self, name: str) -> str:
        """One of the few facts about the whole; empty where it is not known."""
        found = next(self.select("SELECT value FROM kept_facts WHERE name = ?", (name,)), ("",))
        return str(found[0])

    def packed(self, name: str) -> bytes:
        """One of the facts that are bytes; none where it is not known."""
        found = next(self.select("SELECT value FROM kept_facts WHERE name = ?", (name,)), (b"",))
        return found[0] if isinstance(found[0], bytes) else b""

    def files(
        self, kinds: Collection[str] = (), *, unsure: bool = False, name: str | None = None
    ) -> list[KeptFile]:
        """The files of some kinds (all, where none is named); only the unsure ones, or of one name."""
        tests = [f"kind IN ({_marks(kinds)})"] if kinds else []
        tests += ["unsure"] if unsure else []
        tests += ["name = ?"] if name is not None else []
        where = f" WHERE {' AND '.join(tests)}" if tests else ""
        params = (*kinds, *([name] if name is not None else []))
        return [KeptFile(*row) for row in self.select(f"SELECT * FROM kept_files{where}", params)]

    def files_at(self, paths: Iterable[str]) -> list[KeptFile]:
        """What is known of the files at some paths."""
        sql = "SELECT * FROM kept_files WHERE kind IN ('log', 'sheet', 'kit') AND path = ?"
        return [KeptFile(*row) for path in paths for row in self.select(sql, (path,))]

    def things(self, things: Iterable[tuple[str, str]]) -> list[KeptFile]:
        """What is known of some things, by kind and path."""
        sql = "SELECT * FROM kept_files WHERE kind = ? AND path = ?"
        return [KeptFile(*row) for thing in things for row in self.select(sql, thing)]

    def is_readable(self) -> bool:
        """Whether any file could be read."""
        sql = "SELECT EXISTS (SELECT 1 FROM kept_files WHERE kind IN ('log', 'sheet', 'kit') AND readable)"
        return bool(next(self.select(sql))[0])

    def slots(self, keys: Iterable[str] | None = None) -> dict[str, int]:
        """The slot of some sites, or of all in their order, by their keys."""
        if keys is None:
            return dict(self.select("SELECT key, slot FROM kept_sites ORDER BY slot"))
        sql = "SELECT key, slot FROM kept_sites WHERE key = ?"
        return dict(row for key in keys for row in self.select(sql, (key,)))

    def keys_needing(self, needs: Iterable[tuple[str, str]]) -> set[str]:
        """The keys of the sites that need one of these."""
        sql = "SELECT key FROM kept_needs JOIN kept_sites ON slot = site WHERE kind = ? AND what = ?"
        return {row[0] for need in needs for row in self.select(sql, need)}

    def keys_not_of(self, day: str) -> set[str]:
        """The keys of the sites whose rows do not hold on a day."""
        sql = "SELECT key FROM kept_sites WHERE NOT ? BETWEEN first AND last"
        return {row[0] for row in self.select(sql, (day,))}

    def needed(self, kind: str, keys: Iterable[str]) -> list[str]:
        """What some sites need of one kind."""
        sql = "SELECT what FROM kept_sites JOIN kept_needs ON site = slot WHERE key = ? AND kind = ?"
        return [row[0] for key in keys for row in self.select(sql, (key, kind))]

    def needed_by_any(self, kind: str, *, in_order: bool = False) -> list[str]:
        """The different things that sites need of one kind; where wanted, in the order of the sites."""
        if in_order:
            sql = "SELECT what FROM kept_needs WHERE kind = ? ORDER BY site, rowid"
            return list(dict.fromkeys(row[0] for row in self.select(sql, (kind,))))
        return [row[0] for row in self.select("SELECT DISTINCT what FROM kept_needs WHERE kind = ?", (kind,))]

    def shared(self, kind: str) -> list[str]:
        """What several sites need of one kind."""
        sql = "SELECT what FROM kept_needs WHERE kind = ? GROUP BY what HAVING count(*) > 1"
        return [row[0] for row in self.select(sql, (kind,))]

    def uses(self) -> list[tuple[str, str, str, int]]:
        """Kit, tool, day, and how many values the tool gave that day on all sites."""
        sql = "SELECT kit, tool, day, sum(count) FROM kept_uses GROUP BY kit, tool, day"
        return list(self.select(sql))

    def count_errors(self) -> int:
        """How many different errors there are."""
        sql = "SELECT (SELECT coalesce(sum(errors), 0) FROM kept_sites)"
        return int(next(self.select(f"{sql} + (SELECT count(DISTINCT about) FROM kept_errors)"))[0])

    def summaries(self, *, loud: bool = False) -> list[list[Any]]:
        """The fields of the summaries of all sites, or of those with something to say first."""
        sql = (
            f"SELECT summary FROM kept_sites WHERE summary <> '[]'{' AND loud' if loud else ''} ORDER BY slot"
        )
        found = list(self.select(sql))
        if not found:
            return []
        import json

        return [json.loads(row[0]) for row in found]

    def _stored_names(self, column: str) -> set[str]:
        if column not in NAMED:
            return super()._stored_names(column)
        return {row[0] for row in self.select("SELECT name FROM kept_names WHERE field = ?", (column,))}

    def states(self, subject: str) -> frozenset[str]:
        """Every text stored in the column `states` of a subject's table."""
        sql = "SELECT name FROM kept_names WHERE field = ?"
        return frozenset(row[0] for row in self.select(sql, (f"{subject}.states",)))

    # ---- writing ---------------------------------------------------------------------------------
    def set_facts(self, facts: Mapping[str, str | bytes]) -> None:
        """Set facts about the whole."""
        self._many("INSERT OR REPLACE INTO kept_facts VALUES (?, ?)", facts.items())

    def keep_files(self, files: Iterable[KeptFile]) -> None:
        """Put files in, in place of what was known of them."""
        self._many(f"INSERT OR REPLACE INTO kept_files VALUES ({_marks(KeptFile._fields)})", files)

    def drop_files(self, files: Iterable[tuple[str, str]]) -> None:
        """Forget files, by kind and path."""
        self._many("DELETE FROM kept_files WHERE kind = ? AND path = ?", files)

    def drop_site(self, key: str) -> None:
        """Forget a site and its rows."""
        found = next(self.select("SELECT slot, names FROM kept_sites WHERE key = ?", (key,)), None)
        if found is None:
            return
        import json

        slot, names = found
        for column, some in json.loads(names).items():
            self._counts[column].subtract(some)
        for table in self._tables:
            sql = f'DELETE FROM "{table}" WHERE rowid BETWEEN ? AND ?'
            self._do(sql, (slot * ROOM, slot * ROOM + ROOM - 1))
        for table in ("kept_needs", "kept_errors", "kept_uses"):
            self._do(f"DELETE FROM {table} WHERE site = ?", (slot,))
        self._do("DELETE FROM kept_sites WHERE slot = ?", (slot,))

    def keep_sites(self, some: Sequence[KeptSite]) -> None:
        """Put sites in that are not there. BusyError where one has more rows than there is room for."""
        import json

        sites = [
            (site.slot, *site[:1], *site[2:5], json.dumps(site.summary), site.loud, json.dumps(site.names))
            for site in some
        ]
        self._many(f"INSERT INTO kept_sites VALUES ({_marks(sites[0])})", sites)
        self._of_sites("kept_needs", 3, ((site.slot, site.needs) for site in some))
        self._of_sites(
            "kept_errors", 2, ((site.slot, ((about,) for about in site.elsewhere)) for site in some)
        )
        self._of_sites("kept_uses", 5, ((site.slot, site.uses) for site in some))
        by_table: dict[str, list[tuple[int, list[list[Any]]]]] = {}
        for site in some:
            for column, names in site.names.items():
                self._counts[column].update(names)
            for table, rows in site.rows.items():
                if len(rows) > ROOM:
                    raise BusyError("a site with more rows than an index takes")
                if rows:
                    by_table.setdefault(table, []).append((site.slot, rows))
        for table, of_sites in by_table.items():
            numbered = (enumerate(rows, slot * ROOM) for slot, rows in of_sites)
            self._many(self._insertion(table), ((n, *row) for n, row in chain(*numbered)))
        self._forget_names()

    def _of_sites(self, table: str, wide: int, of_sites: Iterable[tuple[int, Iterable[Any]]]) -> None:
        marks = ", ".join("?" * wide)
        rows = ((slot, *row) for slot, some in of_sites for row in some)
        self._many(f"INSERT INTO {table} VALUES ({marks})", rows)

    def _insertion(self, table: str) -> str:
        names = column_names(self._tables[table])
        into = ", ".join(f'"{name}"' for name in ("rowid", *names))
        return f'INSERT INTO "{table}" ({into}) VALUES (?, {_marks(names)})'

    def finish_rows(self) -> None:
        """Once most rows of a new file are in: make it quick to be asked and to be brought up to date."""
        if not self.is_new:
            return
        self.is_new = False
        for statement in filter(str.strip, INDEXES.split(";\n")):
            self._do(statement)
        for subject in self._tables.values():
            for name, columns in (("asked", ASKED), ("site", ("site",)), ("states", ("states",))):
                indexed = ", ".join(_indexed(column) for column in columns if column in column_names(subject))
                if indexed:
                    self._do(f'CREATE INDEX "{subject.stored}_{name}" ON "{subject.stored}" ({indexed})')

    def finish_names(self) -> None:
        """Write down how often names are there now."""
        changes = [
            (column, *entry) for column, names in self._counts.items() for entry in names.items() if entry[1]
        ]
        self._many(
            "INSERT INTO kept_names VALUES (?, ?, ?)"
            " ON CONFLICT (field, name) DO UPDATE SET count = count + excluded.count",
            changes,
        )
        gone = ((column, name) for column, name, count in changes if count < 0)
        self._many("DELETE FROM kept_names WHERE field = ? AND name = ? AND count = 0", gone)
        for names in self._counts.values():
            names.clear()

    def _do(self, sql: str, params: Sequence[object] = ()) -> None:
        import sqlite3

        try:
            self._connection.execute(sql, params)
        except (sqlite3.Error, UnicodeError) as error:
            raise error_of(error) from None

    def _many(self, sql: str, params: Iterable[Sequence[object]]) -> None:
        import sqlite3

        try:
            self._connection.executemany(sql, params)
        except (sqlite3.Error, UnicodeError, OverflowError) as error:
            raise error_of(error) from None


def _indexed(column: str) -> str:
    """A column of an index; names of sites and of what was read are found in any letter case."""
    return f'"{column}" COLLATE NOCASE' if column in ("site", "what") else f'"{column}"'


def _quoted(path: str) -> str:
    """A path within a URI, as SQLite reads it: only these three stand for something else."""
    return path.replace("%", "%25").replace("?", "%3f").replace("#", "%23")


def _marks(some: Collection[object]) -> str:
    return ", ".join("?" * len(some))

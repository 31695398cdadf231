"""A store on the disk: the rows of every site, and beside them what they were made from."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from sitelog.frozen import NamedTuple
from sitelog.store.store import Store, TooMuchError
from sitelog.subjects import SUBJECTS

if TYPE_CHECKING:
    pass

ROOM = 1 << 20
"""Row numbers that a site has in each table; so rows come in the order of the sites, wherever one is put."""

_WAIT = 5.0  # seconds for another process to finish writing
_MARK = 0x51746C67  # SQLite's application_id: whose file it is

_TABLES = """
CREATE TABLE kept_facts (name TEXT PRIMARY KEY, value TEXT) WITHOUT ROWID;
CREATE TABLE kept_files (
    kind TEXT, path TEXT, place INTEGER, stamp TEXT, digest TEXT, unsure INTEGER, name TEXT, readable INTEGER,
    PRIMARY KEY (kind, path)
) WITHOUT ROWID;
CREATE TABLE kept_sites (
    id INTEGER PRIMARY KEY, key TEXT UNIQUE, slot INTEGER, first TEXT, last TEXT, errors INTEGER,
    summary TEXT, loud INTEGER
);
CREATE TABLE kept_needs (site INTEGER, kind TEXT, what TEXT);
CREATE INDEX kept_needs_of ON kept_needs (site);
CREATE INDEX kept_needs_what ON kept_needs (kind, what, site);
CREATE TABLE kept_errors (site INTEGER, about TEXT);
CREATE INDEX kept_errors_of ON kept_errors (site);
CREATE TABLE kept_uses (site INTEGER, kit TEXT, tool TEXT, day TEXT, count INTEGER);
CREATE INDEX kept_uses_of ON kept_uses (site);
"""


class DamagedError(Exception):
    """The file is none of ours, or cannot be read or written (any more); the text is the database's."""


class BusyError(Exception):
    """Another process is writing, or the file cannot be written; what it holds is whole."""


class KeptFile(NamedTuple):
    """A file, or another thing on the disk, as it was when it was read last."""

    kind: str  # log, sheet or kit; file, folder or repository where a judgement needed it
    path: str
    place: int  # in the order of the files found
    stamp: str
    digest: str
    unsure: bool  # changed so shortly before that a later change may show in no stamp
    name: str = ""  # of the sheet or kit; the key of a log's site
    readable: bool = True


class KeptSite(NamedTuple):
    """What is kept of a site beside its rows."""

    key: str
    slot: int
    first: str  # the days between which its rows hold, both included
    last: str
    errors: int
    summary: Sequence[object]
    loud: bool
    needs: Collection[tuple[str, str]]
    elsewhere: Collection[str]  # errors in files that other sites may share
    uses: Collection[tuple[str, str, str, int]]  # kit, tool, day, count


class KeptStore(Store):
    """Rows in a file. What is written until `end` others see whole, or not at all.

    Raises BusyError or DamagedError where the file does not serve.
    """

    def __init__(self, path: str, version: str, writing: bool) -> None:
        import sqlite3
        from urllib.parse import quote

        self.path = path
        self._is_kept = True
        mode = "rwc" if writing else "ro"
        connection = None
        try:
            connection = sqlite3.connect(
                f"file:{quote(path)}?mode={mode}", _WAIT, isolation_level=None, uri=True
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
            if connection.execute("PRAGMA application_id").fetchone()[0] != _MARK:
                raise DamagedError("not an index")
            if self.fact("version") != version:
                raise DamagedError("made by another version")
        except sqlite3.Error as error:
            if connection is not None:
                connection.close()
            raise told(error) from None
        except DamagedError:
            if connection is not None:
                connection.close()
            raise

    def _make(self, version: str) -> None:
        self._connection.execute(f"PRAGMA application_id = {_MARK}")
        for statement in filter(str.strip, _TABLES.split(";\n")):
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
            raise told(error) from None

    def fact(self, name: str) -> str:
        """One of the few facts about the whole; empty where it is not known."""
        found = next(self.select("SELECT value FROM kept_facts WHERE name = ?", (name,)), ("",))
        return str(found[0])

    def files(self, kinds: Collection[str] = (), *, unsure: bool = False) -> list[KeptFile]:
        """The files of some kinds (all, where none is named); only the unsure ones where wanted."""
        tests = [f"kind IN ({_marks(kinds)})"] if kinds else []
        tests += ["unsure"] if unsure else []
        where = f" WHERE {' AND '.join(tests)}" if tests else ""
        return [KeptFile(*row) for row in self.select(f"SELECT * FROM kept_files{where}", tuple(kinds))]

    def slots(self) -> dict[str, int]:
        """The slot of every site, by its key."""
        return dict(self.select("SELECT key, slot FROM kept_sites ORDER BY slot"))

    def keys_needing(self, needs: Iterable[tuple[str, str]]) -> set[str]:
        """The keys of the sites that need one of these."""
        sql = "SELECT key FROM kept_needs JOIN kept_sites ON id = site WHERE kind = ? AND what = ?"
        return {row[0] for need in needs for row in self.select(sql, need)}

    def keys_not_of(self, day: str) -> set[str]:
        """The keys of the sites whose rows do not hold on a day."""
        sql = "SELECT key FROM kept_sites WHERE NOT ? BETWEEN first AND last"
        return {row[0] for row in self.select(sql, (day,))}

    def needs(self, kind: str, keys: Iterable[str] | None = None) -> list[tuple[str, str]]:
        """Key and what it needs of one kind, of some sites or of all, in their order."""
        sql = "SELECT key, what FROM kept_needs JOIN kept_sites ON id = site WHERE kind = ?"
        if keys is None:
            return list(self.select(f"{sql} ORDER BY slot, kept_needs.rowid", (kind,)))
        return [row for key in keys for row in self.select(f"{sql} AND key = ?", (kind, key))]

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
        return [json.loads(row[0]) for row in self.select(sql)]

    # ---- writing ---------------------------------------------------------------------------------
    def set_facts(self, facts: Mapping[str, str]) -> None:
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
        found = next(self.select("SELECT id, slot FROM kept_sites WHERE key = ?", (key,)), None)
        if found is None:
            return
        number, slot = found
        self.drop_rows(slot)
        for table in ("kept_needs", "kept_errors", "kept_uses"):
            self._do(f"DELETE FROM {table} WHERE site = ?", (number,))
        self._do("DELETE FROM kept_sites WHERE id = ?", (number,))

    def keep_site(self, site: KeptSite, rows: Mapping[str, Sequence[Sequence[object]]]) -> None:
        """Put a site in, in place of what was known of it."""
        self.drop_site(site.key)
        fields = "key, slot, first, last, errors, summary, loud"
        sql = f"INSERT INTO kept_sites ({fields}) VALUES (?, ?, ?, ?, ?, ?, ?)"
        self._do(sql, (*site[:5], json.dumps(site.summary), site.loud))
        number = next(self.select("SELECT last_insert_rowid()"))[0]
        self._many("INSERT INTO kept_needs VALUES (?, ?, ?)", ((number, *need) for need in site.needs))
        self._many("INSERT INTO kept_errors VALUES (?, ?)", ((number, about) for about in site.elsewhere))
        self._many("INSERT INTO kept_uses VALUES (?, ?, ?, ?, ?)", ((number, *use) for use in site.uses))
        self.keep_rows(site.slot, rows)

    def drop_rows(self, slot: int) -> None:
        """Forget the rows in a slot."""
        first = slot * ROOM
        for table in self._tables:
            self._do(f'DELETE FROM "{table}" WHERE rowid BETWEEN ? AND ?', (first, first + ROOM - 1))

    def keep_rows(self, slot: int, rows: Mapping[str, Sequence[Sequence[object]]]) -> None:
        """Put rows into a slot; BusyError where there are more than it takes."""
        import sqlite3

        for table, some in rows.items():
            if len(some) > ROOM:
                raise BusyError("a site with more rows than an index takes")
            try:
                self._insert(table, some, slot * ROOM)
            except (sqlite3.Error, UnicodeError, OverflowError) as error:
                raise told(error) from None

    def _do(self, sql: str, params: Sequence[object] = ()) -> None:
        import sqlite3

        try:
            self._connection.execute(sql, params)
        except (sqlite3.Error, UnicodeError) as error:
            raise told(error) from None

    def _many(self, sql: str, params: Iterable[Sequence[object]]) -> None:
        import sqlite3

        try:
            self._connection.executemany(sql, params)
        except (sqlite3.Error, UnicodeError) as error:
            raise told(error) from None


def told(error: Exception) -> BusyError | DamagedError:
    """What SQLite complains of, as one of two: to be left alone, or to be thrown away."""
    import sqlite3

    if not isinstance(error, sqlite3.Error):
        return BusyError(str(error))  # a name or a number that no database takes
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    left_alone = (
        sqlite3.SQLITE_BUSY,
        sqlite3.SQLITE_LOCKED,
        sqlite3.SQLITE_READONLY,
        sqlite3.SQLITE_FULL,
        sqlite3.SQLITE_CANTOPEN,
        sqlite3.SQLITE_PERM,
        sqlite3.SQLITE_IOERR,
        sqlite3.SQLITE_NOMEM,
        sqlite3.SQLITE_TOOBIG,
    )
    return BusyError(str(error)) if code in left_alone else DamagedError(str(error))


def _marks(some: Collection[object]) -> str:
    return ", ".join("?" * len(some))

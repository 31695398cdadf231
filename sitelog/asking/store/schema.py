"""An index file: its tables, the records of files and sites that it holds, and how it can fail to serve."""

from __future__ import annotations

from sitelog.base.frozen import NamedTuple

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

ROOM = 1 << 20
"""Row numbers that a site has in each table; so rows come in the order of the sites, wherever one is put."""

NAMED = (
    "site",
    "sheet",
    "visit",
    "by",
    "tool",
    "kit",
    "what",
    "place",
    "points",
    "part",
    "step",
    "of",
    "same",
)
"""Columns whose texts a question is held against, so that a slip is told from an empty answer."""

WAIT = 5.0  # seconds for another process to finish writing
MARK = 0x51746C67  # SQLite's application_id: whose file it is
CACHE = 64_000  # kB of the file in memory while it is written; with SQLite's own 2 MB it is written twice

# What questions look for: a tenth of what a row holds, so that ten times as many are looked through at once.
ASKED = ("what", "value", "value_bound", "value_kind", "day", "by", "tool", "visit", "sheet")

TABLES = """
CREATE TABLE kept_facts (name TEXT PRIMARY KEY, value) WITHOUT ROWID;
CREATE TABLE kept_files (
    kind TEXT, path TEXT, digest TEXT, unsure INTEGER, name TEXT, readable INTEGER, PRIMARY KEY (kind, path)
) WITHOUT ROWID;
CREATE INDEX kept_files_unsure ON kept_files (kind) WHERE unsure;
CREATE TABLE kept_sites (
    slot INTEGER PRIMARY KEY, key TEXT UNIQUE, first TEXT, last TEXT, errors INTEGER, summary TEXT,
    loud INTEGER, names TEXT
);
CREATE TABLE kept_needs (site INTEGER, kind TEXT, what TEXT);
CREATE TABLE kept_errors (site INTEGER, about TEXT);
CREATE TABLE kept_uses (site INTEGER, kit TEXT, tool TEXT, day TEXT, count INTEGER);
CREATE TABLE kept_names (field TEXT, name TEXT, count INTEGER, PRIMARY KEY (field, name)) WITHOUT ROWID;
"""

# Made once the rows of a new file are in: sorted at once they cost a third of what they cost row by row.
INDEXES = """
CREATE INDEX kept_files_name ON kept_files (name);
CREATE INDEX kept_sites_loud ON kept_sites (slot) WHERE loud;
CREATE INDEX kept_sites_days ON kept_sites (first, last, key, errors);
CREATE INDEX kept_needs_of ON kept_needs (site);
CREATE INDEX kept_needs_what ON kept_needs (kind, what, site);
CREATE INDEX kept_errors_of ON kept_errors (site);
CREATE INDEX kept_uses_of ON kept_uses (site);
CREATE INDEX kept_uses_tool ON kept_uses (kit, tool, day, count);
"""


class DamagedError(Exception):
    """The file is none of ours, or cannot be read or written (any more); the text is the database's."""


class BusyError(Exception):
    """Another process is writing, or the file cannot be written; what it holds is whole."""


class KeptFile(NamedTuple):
    """A file, or another thing on the disk, as it was when it was read last."""

    kind: str  # log, sheet or kit; file, folder or repository where a judgement needed it
    path: str
    digest: str
    unsure: bool  # changed so shortly before that a later change may show in no stamp
    name: str = ""  # of the sheet or kit; the key of a log's site
    readable: bool = True


class KeptSite(NamedTuple):
    """What is kept of a site: plain tuples, texts and numbers, as another process can hand it over."""

    key: str
    slot: int
    first: str  # the days between which its rows hold, both included
    last: str
    errors: int
    summary: tuple[Any, ...]
    loud: bool
    needs: list[tuple[str, str]]
    elsewhere: list[str]  # errors in files that other sites may share
    uses: list[tuple[str, str, str, int]]  # kit, tool, day, count
    names: dict[
        str, list[str]
    ]  # the different texts in its rows: by column of NAMED, by table `joints.states`
    rows: dict[str, list[list[Any]]]  # by table, as they are stored


def error_of(error: Exception) -> BusyError | DamagedError:
    """An error of SQLite as one of two: the file is to be left alone, or to be thrown away."""
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

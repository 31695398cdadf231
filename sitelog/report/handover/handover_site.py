"""A judged site as the sections need it: its rows by name, and links from a file's line into the page."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from functools import cached_property

from sitelog.asking.rows import history_of, rows_of
from sitelog.asking.subjects import HISTORIES, SUBJECTS, Column, Subject
from sitelog.base.frozen import NamedTuple
from sitelog.findings.finding import Finding
from sitelog.judging.judged import Site
from sitelog.judging.results import Result
from sitelog.judging.site import LogEntry
from sitelog.notation.places import compress
from sitelog.notation.quantities import Quantity
from sitelog.report.handover.document import Cell, ColumnHead, Items, PageTable, Part
from sitelog.report.photos import Shown
from sitelog.report.pictures.style import SIGNS, class_of
from sitelog.views.rows import NUMERIC, cell_text

NamedRow = dict[str, object]
Shrink = Callable[[str], Shown]
"""From the path of a photo to what a page shows of it."""

_READINGS = ("reading", "dead", "spread")


class Field(NamedTuple):
    """One column as `ask` shows it; what is asked for in its own unit has no other."""

    name: str
    type: str
    unit: str = ""
    aside: bool = False


class HandoverSite:
    """What is told of one site."""

    def __init__(self, site: Site, findings: Iterable[Finding], shrink: Shrink | None = None) -> None:
        self.site = site
        self.shrink = shrink
        self.inlined = 0  # bytes of photos that stand in the page so far
        self.log = site.log
        self._rows = rows_of(site)
        self._histories: dict[str, list[NamedRow]] = {}
        files = {*self.log.files, *(sheet.file for sheet in self.log.sheets)}
        files |= {kit.file for kit in self.log.kits}
        own = dict.fromkeys(one for one in findings if one.file in files)
        self.findings = list(dict.fromkeys((*own, *site.findings)))

    # ---- rows -------------------------------------------------------------------------------------------
    def rows(self, subject: str) -> list[NamedRow]:
        """The rows of a subject, by the names of their fields."""
        return _named(SUBJECTS[subject], self._rows[subject])

    def history(self, subject: str) -> list[NamedRow]:
        """The rows of a subject's history."""
        if subject not in self._histories:
            self._histories[subject] = _named(HISTORIES[subject], history_of(self.site, subject))
        return self._histories[subject]

    def results(self, *kinds: str) -> list[Result]:
        """The results of some kinds, in the order of their rows."""
        return [result for result in self.site.results if result.kind in kinds]

    def joints(self) -> list[tuple[NamedRow, Result]]:
        """The rows of the joints, each with its result."""
        return list(zip(self.rows("joints"), self.results("joint"), strict=True))

    def readings(self) -> list[tuple[NamedRow, Result]]:
        """The rows of the readings, each with its result."""
        return list(zip(self.rows("readings"), self.results(*_READINGS), strict=True))

    # ---- where things stand ------------------------------------------------------------------------------
    def link(self, file: object, line: object) -> str:
        """The address of a log's line in the page; empty for a line of another file."""
        if file not in self.log.files or not isinstance(line, int):
            return ""
        return f"#{self.anchor(self.log.files.index(str(file)), line)}"

    def anchor(self, nth: int, line: int) -> str:
        """The anchor of a line of the nth log file, from 0."""
        return f"l-{line}" if len(self.log.files) == 1 else f"l-{nth + 1}-{line}"

    def where(self, file: object, line: object) -> str:
        """A file's line in words: its number alone in the only log."""
        if file in self.log.files and len(self.log.files) == 1:
            return f"line {line}"
        return f"{_short(str(file))}:{line}"

    def place(self, file: object, line: object) -> Cell:
        """A file's line as a cell that leads to it."""
        return Cell(self.where(file, line), self.link(file, line))

    def of(self, one: LogEntry) -> Cell:
        """Where an entry stands."""
        return self.place(one.file, one.entry.number)

    @cached_property
    def sheets(self) -> str:
        """The names of the sheets in one phrase."""
        return ", ".join(sheet.name for sheet in self.log.sheets)

    # ---- tables ------------------------------------------------------------------------------------------
    def table(
        self,
        subject: str,
        rows: Sequence[NamedRow],
        caption: str,
        columns: str,
        own: Callable[[str, NamedRow], Cell | None] = lambda name, row: None,
    ) -> list[Part]:
        """Rows as a table, if there are any: of fields with their heads, such as `place joint; low at least`.

        A column in which nothing stands is left out. `line` leads to the log, `with` is the tool with its
        certificate, `done` the person with day and time; `own` may make a cell of its own. Below the table
        stand the reasons of its verdicts, each once.
        """
        if not rows:
            return []
        fields = {one.name: one for one in (HISTORIES.get(subject) or SUBJECTS[subject]).all_columns}
        wanted = columns_of(columns)
        cells = [
            [own(name, row) or self._cell(fields.get(name), name, row) for name, _ in wanted] for row in rows
        ]
        kept = [at for at in range(len(wanted)) if at == 0 or any(row[at].text for row in cells)]
        heads = tuple(
            ColumnHead(
                wanted[at][1], _look(wanted[at][0], fields.get(wanted[at][0]), [row[at] for row in cells])
            )
            for at in kept
        )
        made = PageTable(caption, heads, tuple(tuple(row[at] for at in kept) for row in cells))
        why = _why(rows, wanted[0][0]) if any(name == "verdict" for name, _ in wanted) else ()
        return [made, Items(why)] if why else [made]

    def _cell(self, column: Column | None, name: str, row: NamedRow) -> Cell:
        if name == "verdict":
            return verdict(row)
        if name == "line":
            return self.place(row["file"], row["line"])
        if name == "with":
            return Cell(str(row["tool"] or ""), note=str(row["cert"] or ""))
        if name == "margin" and "low" in row and None in (row["low"], row["high"]):
            return Cell("")  # how far from a single limit is no share of anything
        if name == "done":
            return Cell(str(row["by"] or ""), note=when(row))
        return Cell(shown(column, row.get(name)), struck=name in _STRUCK and is_struck(row))


_STRUCK = frozenset({"value", "answer", "serial"})
"""Of a struck row these are struck through: what it said, not where."""


def when(row: NamedRow) -> str:
    """The day and the time of a row."""
    return " ".join(str(row[name]) for name in ("day", "time") if row[name])


def columns_of(text: str) -> list[tuple[str, str]]:
    """Fields with the heads of their columns, of a text such as `place joint; margin; low at least`."""
    words = (one.split(maxsplit=1) for one in text.split(";"))
    return [(one[0], one[-1]) for one in words]


def shown(column: Column | None, value: object) -> str:
    """A value as the tables of `ask` show it."""
    if column is None:
        return "" if value is None else str(value)
    return cell_text(Field(column.name, column.type), value)  # type: ignore[arg-type]


def shown_as(subject: str, name: str, value: object) -> str:
    """A field of a subject as the tables of `ask` show it."""
    return shown(next((one for one in SUBJECTS[subject].all_columns if one.name == name), None), value)


def is_struck(row: NamedRow) -> bool:
    """Whether a row of a history was struck."""
    return " struck " in str(row.get("states") or "")


def verdict(row: NamedRow) -> Cell:
    """The verdict of a row as a shape and a word."""
    if is_struck(row):
        return Cell("– struck, does not count", look="quiet")
    cell = marked(str(row.get("verdict") or ""))
    replaced = ", replaced" if " replaced " in str(row.get("states") or "") else ""
    return Cell(cell.text + replaced, look=cell.look)


def _why(rows: Sequence[NamedRow], name: str) -> tuple[Cell, ...]:
    """The reasons of verdicts in words, each with all the places that it holds for."""
    places: dict[tuple[str, str], list[str]] = {}
    for row in rows:
        reasons, word, place = str(row.get("reasons") or ""), str(row["verdict"] or ""), str(row[name] or "")
        plain = word == "missing" and ": " not in reasons.removeprefix("missing: ")  # says no more
        if reasons and not plain and not is_struck(row):
            key = marked(word).text, reasons.replace(place, _HERE) if place else reasons
            places.setdefault(key, []).append(place)
    found: list[Cell] = []
    for (obs, reasons), some in places.items():
        names = compress(dict.fromkeys(some))
        text = reasons.replace(_HERE, names) if _HERE in reasons else f"{names}: {reasons}"
        found.append(Cell(f"{obs[0]} {text}"))
    return tuple(found)


_HERE = "\0"


def marked(word: str) -> Cell:
    """A verdict as a shape and a word."""
    kind = class_of(word)
    return Cell(f"{SIGNS[kind]} {word}".rstrip(), look="open" if kind == "missing" else kind)


def _look(name: str, column: Column | None, cells: Iterable[Cell]) -> str:
    if name in ("done", "day"):
        return "when"
    if column is not None and column.type in NUMERIC and name != "line":
        return "number"
    longest = max((max(len(cell.text), len(cell.note)) for cell in cells), default=0)
    return "words" if longest > _LONG else "short" if longest > _TINY else "tiny"


_LONG, _TINY = 24, 14
"""Letters: a column with longer texts is given room and breaks them; a tiny one is never broken."""


def quantity(value: object) -> Quantity | None:
    """The value where it is a quantity."""
    return value if isinstance(value, Quantity) else None


def _named(subject: Subject, rows: Iterable[Sequence[object]]) -> list[NamedRow]:
    names = [column.name for column in subject.all_columns]
    return [dict(zip(names, row, strict=True)) for row in rows]


def _short(file: str) -> str:
    return "standard input" if file == "-" else os.path.basename(file)

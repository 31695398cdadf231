"""Lining up the lines of a log, sheet or kit without changing what they say. Pure: text in, text out.

Blanks are moved, and in a log, below its last signature, units take their normal spelling. Every word,
remark and comment stays; a line that cannot be read stays as it is; lines are never joined or split.
Each changed line is read again, and kept as it was where it would say anything else.

Above a signature, and in sheets and kits (which the digest of a signature covers too), blanks alone
change: a run of blanks may become longer or shorter, but none is made or taken away inside a line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from sitelog.files.meaning import essence
from sitelog.files.source import Source, from_bytes
from sitelog.language.kinds import LOG
from sitelog.language.kinds.base import Reader, split_value
from sitelog.language.syntax import Entry, Node, Token, parse_line
from sitelog.notation.quantities import Unit, find_unit

UTF_16 = (b"\xff\xfe", b"\xfe\xff")
"""How a file in UTF-16 begins; its lines are read, but not lined up."""

_BLANKS = " \t"
_RUN = re.compile(r"[ \t]+")
# What may stand in front of the remark and is no word of the tree: a full stop, `AWG` behind `#8`.
_DROPPED = re.compile(r"(?:[ \t]*(?:\.(?=[ \t]|$)|AWG(?=[ \t]|$)))*[ \t]*", re.IGNORECASE)

_HEADER = frozenset({"site", "sheet", "kit", "crew", "zone", "visit", "day"})
_HEAD = frozenset({"places", "loose_places", "group", "name"})
_ANSWERED = frozenset({"look", "set", "reading"})  # their last group may be the answer
_LATE = {"sheet": ("source_clause",), "kit": ("serial", "due")}
_RAW = frozenset({"text", "label"})  # free words: their blanks are what was written
_SPLIT = frozenset({"value", "amount"})

_COLUMNS = TIME, KIND, HEAD, SORT, MID, REST, TAIL = range(7)
"""When, what, where, a tool's sort, what follows, the source or the serial, the remark or comment."""

_SEPARATION = {TIME: 0, KIND: 2, HEAD: 1, SORT: 2, MID: 2, REST: 2, TAIL: 3}
# A cell wider than this stands for itself and pushes nothing but its own line.
_WIDEST = {TIME: 8, KIND: 8, HEAD: 34, SORT: 20, MID: 40, REST: 40, TAIL: 0}
_KIND_WIDTH = {"log": 7, "header": 6, "sheet": 7, "kit": 6}


class LineCell(NamedTuple):
    """One cell of a line. A `loose` cell widens no column; `apart` says that blanks stood in front of it."""

    column: int
    text: str
    apart: bool
    loose: bool = False


class CellRow(NamedTuple):
    """One line in cells, with the family of lines it lines up with. `frozen` where only blanks may change."""

    family: str
    cells: tuple[LineCell, ...]
    frozen: bool


def tidied(text: str, file: str) -> str:
    """The text of a file, lined up; `file` tells by its ending what sort it is.

    `text` has the file's byte order mark, line ends and, as lone surrogates, bytes that are no UTF-8; so
    has the answer.
    """
    data = text.encode("utf-8", "surrogateescape")
    source = from_bytes(data, file)
    if not source.role or data.startswith(UTF_16):
        return text
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    pieces = text.removeprefix(mark).split("\n")
    lines = [piece.removesuffix("\r") for piece in pieces]
    ends = [piece[len(line) :] for piece, line in zip(pieces, lines, strict=True)]
    new = tidied_lines(lines, source)
    return mark + "\n".join(line + end for line, end in zip(new, ends, strict=True))


def tidied_lines(lines: Sequence[str], source: Source) -> list[str]:
    """The lines of one source, lined up, as many as before.

    A line that would say anything else, or that has an error, stays as it is.
    """
    wrong = {found.line for found in source.findings if found.severity == "error"} | source.skip
    rows = list(_rows(lines, source.role, wrong))
    new = list(lines)
    for block in _blocks(rows, lines):
        starts = _starts([row for _, row in block], source.role)
        for at, row in block:
            line = _assembled(row, starts)
            if line != lines[at] and _same(source.role, lines[at], line):
                new[at] = line
    return new


# ---- lines to rows -----------------------------------------------------------------------------------
def _rows(lines: Sequence[str], role: str, wrong: set[int] | frozenset[int]) -> Iterator[CellRow | None]:
    """A row for every line that is read without an error; None for every other."""
    read: list[Entry | None] = []
    for number, line in enumerate(lines, 1):
        entry = None
        if number not in wrong and line.strip(_BLANKS):
            found, faults = parse_line(role, line, number)
            if found.body is not None and not any(fault.slug != "single-dash" for fault in faults):
                begins = found.when.start if found.when is not None else found.body.start
                entry = found if not line[:begins].strip(_BLANKS) else None  # no-break blanks stay
        read.append(entry)
    signed = max((entry.number for entry in read if entry is not None and entry.kind == "sign"), default=0)
    for entry in read:
        yield None if entry is None or _is_wrong(role, entry) else _row(entry, role, signed)


def _is_wrong(role: str, entry: Entry) -> bool:
    if role != "log":
        return False
    reader = Reader("", entry)
    LOG[entry.kind].read(reader)
    return any(found.severity == "error" for found in reader.findings)


def _row(entry: Entry, role: str, signed: int) -> CellRow:
    frozen = role != "log" or entry.number <= signed
    family = role
    if role == "log":
        family = "header" if entry.kind in _HEADER else "log"
    elif role == "kit":
        family = entry.kind
    row = CellRow(family, tuple(_cells(entry, role, {})), frozen)
    spelt = _normal_units(entry) if not frozen else {}
    if spelt:
        changed = row._replace(cells=tuple(_cells(entry, role, spelt)))
        plain = {cell.column: 0 for cell in row.cells}
        if _same(role, entry.text, _assembled(changed, plain)):
            return changed
    return row


def _cells(entry: Entry, role: str, spelt: dict[tuple[int, int], str]) -> Iterator[LineCell]:
    """The cells of an entry, its words as written but for the spellings given by their spans."""
    body = entry.body
    assert body is not None
    cuts: list[tuple[int, int, bool]] = []  # column, start, loose
    if entry.when is not None:
        cuts.append((TIME, entry.when.start, False))
    cuts.append((KIND, body.start, False))
    cuts += _body_cuts(entry, role)
    end = body.end
    tail = _DROPPED.match(entry.text, end)
    assert tail is not None
    # A barcode may hold what looks like a remark, so a scan stays in one piece.
    if entry.kind != "scan" and tail.end() < len(entry.text.rstrip(_BLANKS)):
        cuts.append((TAIL, tail.end(), True))
    fixed = _fixed_stretches(body)
    for at, (column, start, loose) in enumerate(cuts):
        stop = cuts[at + 1][1] if at + 1 < len(cuts) else len(entry.text)
        apart = at > 0 and entry.text[start - 1] in _BLANKS
        whole = entry.text[start:stop].rstrip(_BLANKS)
        raw = column == TAIL or (entry.kind == "scan" and column == HEAD)
        text = whole if raw else _squeezed(entry, start, start + len(whole), fixed, spelt)
        yield LineCell(column, text, apart, loose)


def _body_cuts(entry: Entry, role: str) -> Iterator[tuple[int, int, bool]]:
    """Where the columns behind the kind begin."""
    body = entry.body
    assert body is not None
    parts = body.children[1:]
    if entry.kind == "based":  # `based on` is one word in two
        parts = parts[1:]
    if not parts:
        return
    first = parts[0]
    if isinstance(first, Node) and first.name == "text":
        if entry.kind == "day":
            words = first.tokens()
            yield HEAD, words[0].start, False
            if len(words) > 1:
                yield MID, words[1].start, True
        else:
            yield HEAD, first.start, True
        return
    if entry.kind == "tool" and len(parts) > 1 and isinstance(measure := parts[1], Node):
        yield HEAD, first.start, False
        yield SORT, measure.start, False
        if len(measure.children) > 1:
            yield MID, measure.children[1].start, False
        yield from _late_cuts(parts[2:], role)
        return
    count = 0
    while count < len(parts) and isinstance(parts[count], Node) and parts[count].name in _HEAD:  # type: ignore[union-attr]
        count += 1
    if role == "log" and entry.kind in _ANSWERED and count == len(parts) > 1:
        count -= 1
    if count:
        yield HEAD, first.start, False
    if count < len(parts):
        yield (MID if count else HEAD), parts[count].start, False
    yield from _late_cuts(parts[count + 1 :], role)


def _late_cuts(parts: Sequence[Node | Token], role: str) -> Iterator[tuple[int, int, bool]]:
    """Where the column of sources, serials and due days begins."""
    for part in parts:
        if isinstance(part, Node) and part.name in _LATE.get(role, ()):
            yield REST, part.start, False
            return


def _fixed_stretches(body: Node) -> list[tuple[int, int]]:
    """The stretches whose blanks are part of what was written: quotes and free words."""
    spans = [(token.start, token.end) for token in body.tokens() if token.type == "STRING"]
    spans += [(node.start, node.end) for node in body.nodes() if node.name in _RAW]
    return spans


def _squeezed(
    entry: Entry, start: int, end: int, fixed: Sequence[tuple[int, int]], spelt: dict[tuple[int, int], str]
) -> str:
    """A stretch of a line with single blanks in it; two stay two between the parts of an entry."""
    body = entry.body
    assert body is not None
    between = {part.start for part in body.children}
    pieces: list[str] = []
    at = start
    changes = [(run.start(), run.end(), "") for run in _RUN.finditer(entry.text, start, end)]
    changes += [(*span, text) for span, text in spelt.items() if start <= span[0] and span[1] <= end]
    for first, last, text in sorted(changes):
        if not text:
            if any(low <= first < high for low, high in fixed):
                continue
            run = entry.text[first:last]
            text = "  " if last in between and (len(run) > 1 or "\t" in run) else " "
        pieces += [entry.text[at:first], text]
        at = last
    return "".join([*pieces, entry.text[at:end]])


def _normal_units(entry: Entry) -> dict[tuple[int, int], str]:
    """Every unit that has another normal spelling, by its span; a glued one gets its blank."""
    found: dict[tuple[int, int], str] = {}
    for node in _every(entry.body):
        if node.name == "unit" and len(tokens := node.tokens()) == 1:
            normal = _normal(entry.text[tokens[0].start : tokens[0].end])
            if normal:
                found[tokens[0].start, tokens[0].end] = normal
        elif node.name in _SPLIT:
            for token in node.children:
                if isinstance(token, Token) and token.type == "NUMWORD" and (glued := _unglued(token)):
                    found[token.start, token.end] = glued
    return found


def _normal(written: str) -> str:
    """The normal spelling of a unit; empty where it is none or is written so already."""
    unit = find_unit(written)
    # `Vdc` says more than the unit.
    if not isinstance(unit, Unit) or unit.normal == written or written.casefold().endswith(("dc", "ac")):
        return ""
    return unit.normal


def _unglued(token: Token) -> str:
    parts = split_value(Node("value", (token,)))
    unit = find_unit(parts.unit) if parts.unit else None
    if not isinstance(unit, Unit) or parts.number + parts.unit != token.text:
        return ""
    return f"{parts.number} {_normal(parts.unit) or parts.unit}"


def _every(node: Node | None) -> Iterator[Node]:
    if node is not None:
        yield node
        for child in node.nodes():
            yield from _every(child)


# ---- rows to lines -----------------------------------------------------------------------------------
def _blocks(rows: Sequence[CellRow | None], lines: Sequence[str]) -> Iterator[list[tuple[int, CellRow]]]:
    """The rows that stand together, with their lines: of one family, with no empty line between them."""
    block: list[tuple[int, CellRow]] = []
    family = ""
    for at, row in enumerate(rows):
        if block and (not lines[at].strip(_BLANKS) or (row is not None and row.family != family)):
            yield block
            block = []
        if row is not None:
            block.append((at, row))
            family = row.family
    if block:
        yield block


def _starts(rows: Sequence[CellRow], role: str) -> dict[int, int]:
    """Where each column of a block begins, in display columns from 0.

    All cells in front of it fit, but for those wider than `_WIDEST` allows.
    """
    family = rows[0].family
    least = _KIND_WIDTH[family if family == "header" else role]
    starts = {TIME: 0, KIND: 0}
    ends = [0] * len(rows)
    for column in _COLUMNS:
        for at, row in enumerate(rows):
            if any(cell.column == column for cell in row.cells):
                starts[column] = max(starts.get(column, 0), ends[at] + _SEPARATION[column] if ends[at] else 0)
        for at, row in enumerate(rows):
            cell = next((cell for cell in row.cells if cell.column == column), None)
            if cell is not None and not cell.loose and _width(cell.text) <= _WIDEST[column]:
                width = max(_width(cell.text), least) if column == KIND else _width(cell.text)
                ends[at] = starts[column] + width
    return starts


def _assembled(row: CellRow, starts: dict[int, int]) -> str:
    line = ""
    for cell in row.cells:
        if line and (cell.apart or not row.frozen):
            apart = max(starts[cell.column] - _width(line), min(_SEPARATION[cell.column], 2), 1)
            line += " " * apart
        elif not line:
            line = " " * starts[cell.column]
        line += cell.text
    return line


def _width(text: str) -> int:
    if text.isascii():
        return len(text)
    from sitelog.base.text import display_width

    return display_width(text)


# ---- whether it says the same -------------------------------------------------------------------------
def _same(role: str, before: str, after: str) -> bool:
    """Whether two lines say the same: for a log its record, for others every word."""
    return _said(role, before) == _said(role, after)


def _said(role: str, line: str) -> object:
    entry, faults = parse_line(role, line, 1)
    said = (entry.kind, entry.remark, entry.comment, [fault.slug for fault in faults])
    if entry.body is None or role != "log":
        return said, [token[:2] for token in entry.body.tokens()] if entry.body is not None else entry.text
    reader = Reader("", entry)
    record = LOG[entry.kind].read(reader)
    return said, essence(record), [(found.slug, found.message) for found in reader.findings]

"""Sheets and kits that say something else now."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence

from sitelog.files.records import Kit, Sheet
from sitelog.judging.changes.entries import held_together, plain
from sitelog.judging.changes.shapes import Edit, FileLine, SheetOrKitChange
from sitelog.language.syntax import parse_line


def changed_sheets_and_kits(
    before: Sequence[Sheet | Kit], after: Sequence[Sheet | Kit]
) -> Iterator[SheetOrKitChange]:
    """The sheets and kits that say something else now, are new or gone; a new file alone is no change."""
    for was, now in _paired(before, after):
        paper = now or was
        assert paper is not None
        edits = tuple(_edits(was, now)) if was is not None and now is not None else ()
        if edits or was is None or now is None:
            how = "new" if was is None else "gone" if now is None else ""
            yield SheetOrKitChange(_kind(paper), paper.name, paper.file, how, edits, ())


def key_of(paper: Sheet | Kit | SheetOrKitChange) -> str:
    """How verdicts name it: `sheet wallstack-3`, `kit van-2`."""
    kind = paper.kind if isinstance(paper, SheetOrKitChange) else _kind(paper)
    return f"{kind} {paper.name}"


def _kind(paper: Sheet | Kit) -> str:
    return "sheet" if isinstance(paper, Sheet) else "kit"


def _paired(
    before: Iterable[Sheet | Kit], after: Iterable[Sheet | Kit]
) -> Iterator[tuple[Sheet | Kit | None, Sheet | Kit | None]]:
    """The same file in both states; of those left over, the same name."""
    old = list(before)
    rest: list[Sheet | Kit] = []
    for now in after:
        was = next((other for other in old if other.file == now.file and _kind(other) == _kind(now)), None)
        if was is None:
            rest.append(now)
        else:
            old.remove(was)
            yield was, now
    for now in rest:
        named = key_of(now).casefold()
        was = next((other for other in old if key_of(other).casefold() == named), None)
        if was is not None:
            old.remove(was)
        yield was, now
    yield from ((was, None) for was in old)


def _edits(was: Sheet | Kit, now: Sheet | Kit) -> Iterator[Edit]:
    if was.text == now.text:
        return
    old, new = _lines(was), _lines(now)
    for i, j, how in held_together([key for key, _ in old], [key for key, _ in new]):
        if how:
            yield Edit(how, old[i][1] if i is not None else None, new[j][1] if j is not None else None)


def _lines(paper: Sheet | Kit) -> list[tuple[tuple[str, Hashable], FileLine]]:
    """Every line that says something: its first two words, and all its words, without blanks and comments."""
    found: list[tuple[tuple[str, Hashable], FileLine]] = []
    for number, text in enumerate(paper.text, 1):
        entry, _ = parse_line(_kind(paper), text, number)
        if entry.kind:
            tokens = entry.body.tokens() if entry.body is not None else ()
            words = tuple(token.text for token in tokens) or (plain(text),)
            says = entry.kind, words, plain(entry.remark)
            found.append(((f"{entry.kind} {words[0]}", says), FileLine(paper.file, number, text)))
    return found

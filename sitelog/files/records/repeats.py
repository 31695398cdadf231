"""Lines that repeat: what was made of one is made again of the next that differs in its time or its remark.

A crew writes the same words on every site: the same places, the same steps, often the same values. Of such
a line only the time and the remark are new. What is remembered of it is its entry and its record, where the
record comes of the entry's words alone and nothing was the matter with them.

This stands for speed alone. With it `read_log` took 9 % less time over 30 000 lines of `tests/bench/fleet.py`
(seed 7; processor time, the best of five runs in one process, nothing remembered at the start of a run, on a
busy machine). Measure again before it is kept or dropped: what earns less than 10 % goes.
"""

from __future__ import annotations

from collections.abc import Callable
from operator import attrgetter

from sitelog.base.frozen import NamedTuple
from sitelog.language.kinds import LOG
from sitelog.language.kinds.base import Clock, Head, Record
from sitelog.language.kinds.kind import NEVER, WITHOUT_REMARK
from sitelog.language.syntax.tokens import Entry, Node
from sitelog.notation.lookalikes import plain

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

MOST = 10_000
"""When there are more, those not met again since the last such time are forgotten: memory is not endless."""

_TIME = 5  # characters of 08:05
_new = tuple.__new__


class _Known(NamedTuple):
    kind: str
    body: Node | None
    timed: bool
    remark: str | None  # None where it is cut off
    made: Callable[..., Record]
    fields: tuple[Any, ...]  # those of the record behind its head
    by: tuple[str, ...]
    tool: str
    tool_at: tuple[int, int]


_known: dict[str, _Known] = {}
_before: dict[str, _Known] = {}  # those of the last time, until they are met again
_whens: dict[str, tuple[Node, Clock]] = {}
_getters: dict[type[Record], Callable[[Record], tuple[Any, ...]]] = {}


def repeated(file: str, text: str, number: int) -> Record | None:
    """The record of a line that was read before, but for its time and remark; None where it was not."""
    cut = text.find(" --")
    timed = text[2:3] == ":"
    key = _key(text, cut, timed)
    known = _known.get(key) or _met_again(key)
    if known is None:
        return None
    kind, body, was_timed, remark, made, fields, by, tool, tool_at = known  # quicker than by their names
    if was_timed is not timed:
        return None
    when, clock = None, None
    if timed:
        found = _whens.get(text[:_TIME])
        if found is None:
            return None
        when, clock = found
    if remark is None:
        remark = text[cut + 1 :].lstrip("-–—").strip()
    entry = _new(Entry, (kind, number, text, body, when, remark, ""))
    return made(_new(Head, (file, entry, None, clock, by, tool, tool_at)), *fields)


def _met_again(key: str) -> _Known | None:
    known = _before.pop(key, None)
    if known is not None:
        _keep(key, known)
    return known


def remember(record: Record) -> None:
    """Keep what a line gave, if its next one may be made of it. Nothing may have been wrong with the line."""
    head = record.head
    entry = head.entry
    text, body = entry.text, entry.body
    if body is None or entry.comment or "#" in text or "\n" in text or head.date is not None:
        return
    cut = text.find(" --")
    repeats = LOG[entry.kind].repeats
    if repeats == NEVER or (repeats == WITHOUT_REMARK and (entry.remark or cut >= 0)):
        return
    if cut >= 0:
        said = text[cut + 1 :].lstrip("-–—").strip()
        if '"' in plain(text[:cut]) or body.end > cut or said != entry.remark:
            return
    timed = head.clock is not None
    if entry.when is not None and head.clock is not None:
        tokens = entry.when.tokens()
        if len(tokens) != 1 or tokens[0][2:] != (0, _TIME) or text[2] != ":" or text[_TIME] not in " \t":
            return
        if text[:_TIME] not in _whens:
            if len(_whens) >= MOST:
                _whens.clear()
            _whens[text[:_TIME]] = (entry.when, head.clock)
    elif entry.when is not None or text[2:3] == ":":
        return
    known = _Known(
        entry.kind,
        body,
        timed,
        None if cut >= 0 else entry.remark,
        type(record),
        _fields_of(record)[1:],
        head.by,
        head.tool,
        head.tool_at,
    )
    _keep(_key(text, cut, timed), known)


def _fields_of(record: Record) -> tuple[Any, ...]:
    """The fields of a record, its head in front."""
    kind = type(record)
    names: tuple[str, ...] = kind.__match_args__
    if len(names) == 1:
        return (record.head,)
    if kind not in _getters:
        _getters[kind] = attrgetter(*names)
    return _getters[kind](record)


def forget() -> None:
    """Remember nothing."""
    _known.clear()
    _before.clear()
    _whens.clear()


def _key(text: str, cut: int, timed: bool) -> str:
    """What has to be the same: all of the line but the time and what stands behind the dashes."""
    if cut >= 0:
        return text[_TIME if timed else 0 : cut + 3]
    return text[_TIME:] if timed else text


def _keep(key: str, known: _Known) -> None:
    global _known, _before
    if len(_known) >= MOST:
        _known, _before = {}, _known
    _known[key] = known

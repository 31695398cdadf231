"""Entries that were added, deleted, altered, moved or struck.

They are held against each other in the order of the job (day, time, line), so that two of them that merely
changed places in the file are no change.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterator, Sequence

from sitelog.files.meaning import essence
from sitelog.judging.changes.shapes import Edit, FileLine
from sitelog.judging.judged import Site
from sitelog.judging.site import LogEntry
from sitelog.language.kinds.paper import Sign


def entries(before: Site, after: Site) -> Iterator[Edit]:
    """What was done to the entries, but for the signatures."""
    old, new = (
        [entry for entry in site.log.entries if not isinstance(entry.record, Sign)]
        for site in (before, after)
    )
    if [entry.entry.text for entry in old] == [entry.entry.text for entry in new]:
        pairs: list[_Pair] = [(at, at, "") for at in range(len(old))]
    else:
        pairs = held_together([_entry_key(entry) for entry in old], [_entry_key(entry) for entry in new])
    for i, j, how in pairs:
        was = old[i] if i is not None else None
        now = new[j] if j is not None else None
        if how:
            yield Edit(how, _line(was), _line(now))
        if was is not None and now is not None:
            yield from _struck(before, after, was, now)


def _line(entry: LogEntry | None) -> FileLine | None:
    return FileLine(entry.file, entry.entry.number, entry.entry.text) if entry is not None else None


def _entry_key(entry: LogEntry) -> tuple[str, Hashable]:
    """What an entry is about (its kind and places), and all that it says."""
    record = entry.record
    kind = entry.entry.kind
    if record is None:
        return kind, plain(entry.entry.text)
    about = {obs.place.casefold() or obs.what.casefold() for obs in entry.observations}
    return f"{kind} {' '.join(sorted(about))}", (_flat(essence(record)), plain(entry.entry.remark))


def _flat(value: object) -> Hashable:
    """Free words with single blanks; everything else as it is."""
    if isinstance(value, str):
        return plain(value)
    if isinstance(value, tuple):
        return tuple(map(_flat, value))
    return value if isinstance(value, Hashable) else repr(value)


def plain(text: str) -> str:
    """A text with single blanks and none around it."""
    return " ".join(text.split())


def _struck(before: Site, after: Site, was: LogEntry, now: LogEntry) -> Iterator[Edit]:
    """Whether an entry, or some places of it, were struck, or are so no longer."""
    then, today = _struck_places(before, was), _struck_places(after, now)
    if then == today:
        return
    for how, places in (("struck", today - then), ("no longer struck", then - today)):
        if places:
            every = {obs.place for obs in now.observations} or {""}
            some = (
                tuple(obs.place for obs in now.observations if obs.place in places) if places < every else ()
            )
            yield Edit(how, _line(was), _line(now), some)


def _struck_places(site: Site, entry: LogEntry) -> set[str]:
    if site.log.is_struck(entry):
        return {obs.place for obs in entry.observations} or {""}
    return {obs.place for obs in entry.observations if obs.id in site.log.struck.observations}


_Pair = tuple[int | None, int | None, str]


def held_together(old: Sequence[tuple[str, Hashable]], new: Sequence[tuple[str, Hashable]]) -> list[_Pair]:
    """Each entry of both states: index before, index after, and how it changed (empty where it did not)."""
    head = 0
    while head < min(len(old), len(new)) and old[head] == new[head]:
        head += 1
    tail = 0
    while tail < min(len(old), len(new)) - head and old[-1 - tail] == new[-1 - tail]:
        tail += 1
    found: list[_Pair] = [(at, at, "") for at in range(head)]
    found += _between(old, new, range(head, len(old) - tail), range(head, len(new) - tail))
    found += [(len(old) - at, len(new) - at, "") for at in range(tail, 0, -1)]
    return found


def _between(
    old: Sequence[tuple[str, Hashable]], new: Sequence[tuple[str, Hashable]], were: range, are: range
) -> list[_Pair]:
    from difflib import SequenceMatcher

    a, b = old[were.start : were.stop], new[are.start : are.stop]
    pairs: list[_Pair] = []
    lost: list[int] = []
    come: list[int] = []
    for tag, i1, i2, j1, j2 in SequenceMatcher(None, a, b, autojunk=False).get_opcodes():
        if tag == "equal":
            pairs += [(were[i], are[j], "") for i, j in zip(range(i1, i2), range(j1, j2), strict=True)]
        else:
            lost += (were[i] for i in range(i1, i2))
            come += (are[j] for j in range(j1, j2))
    # The same words elsewhere in the job were moved; other words about the same places were altered.
    for how, same in (("moved", 2), ("altered", 1)):
        waiting: dict[Hashable, list[int]] = defaultdict(list)
        for i in lost:
            waiting[old[i][:same]].append(i)
        for j in come.copy():
            if waiting[new[j][:same]]:
                i = waiting[new[j][:same]].pop(0)
                pairs.append((i, j, how))
                lost.remove(i)
                come.remove(j)
    pairs += [(i, None, "deleted") for i in lost]
    pairs += [(None, j, "added") for j in come]
    return sorted(pairs, key=_where)


def _where(pair: _Pair) -> tuple[int, int]:
    """In the order of the new state; what is gone stands where it stood."""
    i, j, _ = pair
    return (j, 1) if j is not None else (i if i is not None else 0, 0)

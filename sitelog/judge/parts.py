"""Serials: which sits where, since when, what was there before and where it went."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple

from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.kinds.part import Registered, Removed, Swap
from sitelog.site import Mark


class Stay(NamedTuple):
    """One serial's time at one place; `until` is None while it sits there."""

    place: str
    serial: str
    since: Mark
    until: Mark | None
    previous: str
    moved_to: str
    registered: str


def stays(marks: Sequence[Mark], same_place: Callable[[str], str]) -> tuple[list[Stay], list[Finding]]:
    """Every stay on a site, in order, and what cannot be true of it."""
    found: dict[str, list[Stay]] = defaultdict(list)
    findings: list[Finding] = []
    for mark in marks:
        key = same_place(mark.place)
        here = found[key][-1] if found[key] and found[key][-1].until is None else None
        if mark.kind == "registered" and here is not None and isinstance(mark.record, Registered):
            found[key][-1] = here._replace(registered=mark.record.reference)
        if mark.kind != "part":
            continue
        before = here.serial if here is not None else found[key][-1].serial if found[key] else ""
        if mark.mode == "removed":
            record = mark.record
            to = record.to if isinstance(record, Removed) else ""
            if here is not None:
                if mark.word and mark.word.casefold() != here.serial.casefold():
                    findings.append(_wrong(mark, f"{mark.place} holds {here.serial}, not {mark.word}"))
                found[key][-1] = here._replace(until=mark, moved_to=to)
            continue
        if here is not None and mark.word.casefold() == here.serial.casefold():
            continue
        if mark.mode == "swap" and isinstance(mark.record, Swap):
            old = mark.record.old
            if old and before and old.casefold() != before.casefold():
                findings.append(_wrong(mark, f"{mark.place} holds {before}, not {old}"))
        elif here is not None:
            message = f"{mark.place} already has {here.serial}, read in line {here.since.line}"
            swap = f"swap {mark.place} {here.serial} -> {mark.word}"
            help = f"a swap? Write `{swap}`; a typing error? Strike one of them"
            findings.append(_wrong(mark, message, help))
        if here is not None:
            found[key][-1] = here._replace(until=mark)
        found[key].append(Stay(mark.place, mark.word, mark, None, before, "", ""))
    everything = [stay for one in found.values() for stay in one]
    findings += _twice(everything)
    return everything, findings


def _twice(everything: Sequence[Stay]) -> list[Finding]:
    by_serial: dict[str, list[Stay]] = defaultdict(list)
    for stay in everything:
        if stay.until is None:
            by_serial[stay.serial.casefold()].append(stay)
    return [
        _wrong(
            second.since,
            f"{second.serial} sits at {first.place} already (line {first.since.line})",
            slug="serial-twice",
        )
        for same in by_serial.values()
        for first, second in pairwise(same)
    ]


def _wrong(
    mark: Mark, message: str, help: str = "read the label again", slug: str = "serial-changed"
) -> Finding:
    entry = mark.record.head.entry
    return finding(slug, message, mark.file, mark.line, mark.start + 1, mark.end + 1, entry.text, help)

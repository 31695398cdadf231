"""The log itself: every line as written, with its number, its anchor and what there is to say about it."""

from __future__ import annotations

from collections import defaultdict

from sitelog.report.handover.document import Cell, Line, Part, Verbatim
from sitelog.report.handover.told import Told

_MARKS = {"error": ("✗", "bad"), "warning": ("△", "open"), "info": ("–", "quiet")}


def verbatim(told: Told) -> list[Part]:
    """Each log file of the site."""
    notes: dict[tuple[str, int], list[Cell]] = defaultdict(list)
    for one in told.findings:
        shape, look = _MARKS.get(one.severity, _MARKS["info"])
        if one.slug != "missing":  # it stands nowhere in the log, and above among what is open
            notes[one.file, one.line].append(Cell(f"{shape} {one.severity}: {one.message}", look=look))
    struck = told.log.struck.lines
    return [
        Verbatim(
            "standard input" if file == "-" else file,
            tuple(
                Line(
                    number,
                    told.anchor(nth, number),
                    text,
                    tuple(notes[file, number]),
                    (file, number) in struck,
                )
                for number, text in enumerate(lines, 1)
            ),
        )
        for nth, (file, lines) in enumerate(zip(told.log.files, told.log.texts, strict=True))
    ]

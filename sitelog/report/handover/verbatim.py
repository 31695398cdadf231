"""The log itself: every line as written, with its number, its anchor and what there is to say about it."""

from __future__ import annotations

from collections import defaultdict

from sitelog.report.handover.document import Cell, LogLine, Part, Verbatim
from sitelog.report.handover.handover_site import HandoverSite

_MARKS = {"error": ("✗", "bad"), "warning": ("△", "open"), "info": ("–", "quiet")}


def verbatim(handover_site: HandoverSite) -> list[Part]:
    """Each log file of the site."""
    notes: dict[tuple[str, int], list[Cell]] = defaultdict(list)
    for one in handover_site.findings:
        shape, look = _MARKS.get(one.severity, _MARKS["info"])
        if one.slug != "missing":  # it stands nowhere in the log, and above among what is open
            notes[one.file, one.line].append(Cell(f"{shape} {one.severity}: {one.message}", look=look))
    struck = handover_site.log.struck.lines
    return [
        Verbatim(
            "standard input" if file == "-" else file,
            tuple(
                LogLine(
                    number,
                    handover_site.anchor(nth, number),
                    text,
                    tuple(notes[file, number]),
                    (file, number) in struck,
                )
                for number, text in enumerate(lines, 1)
            ),
        )
        for nth, (file, lines) in enumerate(
            zip(handover_site.log.files, handover_site.log.texts, strict=True)
        )
    ]

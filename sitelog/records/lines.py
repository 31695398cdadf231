"""What logs, sheets and kits share: every line through the grammar, faults turned into findings."""

from __future__ import annotations

from collections.abc import Iterator

from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.kinds.base import Reader
from sitelog.source import Source
from sitelog.syntax import parse_line


def read_lines(source: Source, role: str, findings: list[Finding]) -> Iterator[Reader]:
    """A reader for every line that holds an entry, read or not; faults go to `findings` as they come."""
    for number, text in enumerate(source.lines, 1):
        if number in source.skip or not text or text.isspace():
            continue
        entry, faults = parse_line(role, text, number)
        for fault in faults:
            end = max(fault.end, fault.start + 1)
            findings.append(
                finding(
                    fault.slug, fault.message, source.file, number, fault.start + 1, end + 1, text, fault.help
                )
            )
        if not (entry.kind or entry.comment or faults):  # a full stop alone
            start = entry.start + 1
            message = "there is nothing here that could be read"
            findings.append(finding("unreadable", message, source.file, number, start, entry.end + 1, text))
        if entry.kind:
            yield Reader(source.file, entry)

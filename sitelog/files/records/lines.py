"""What logs, sheets and kits share: every line through the grammar, faults turned into findings."""

from __future__ import annotations

from collections.abc import Iterator

from sitelog.files.source import Source
from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.language.kinds.base import Reader
from sitelog.language.syntax import parse_line


def lines_of(source: Source) -> Iterator[tuple[int, str]]:
    """The lines that say something, each with its number from 1."""
    for number, text in enumerate(source.lines, 1):
        if text and not text.isspace() and number not in source.skip:
            yield number, text


def read_line(file: str, role: str, number: int, text: str, findings: list[Finding]) -> Reader | None:
    """A reader for a line that holds an entry, read or not; faults go to `findings`."""
    entry, faults = parse_line(role, text, number)
    for fault in faults:
        end = max(fault.end, fault.start + 1)
        findings.append(
            finding(fault.slug, fault.message, file, number, fault.start + 1, end + 1, text, fault.help)
        )
    if not (entry.kind or entry.comment or faults):  # a full stop alone
        start = entry.start + 1
        message = "there is nothing here that could be read"
        findings.append(finding("unreadable", message, file, number, start, entry.end + 1, text))
    return Reader(file, entry) if entry.kind else None


def read_lines(source: Source, role: str, findings: list[Finding]) -> Iterator[Reader]:
    """A reader for every line that holds an entry, read or not; faults go to `findings` as they come."""
    for number, text in lines_of(source):
        reader = read_line(source.file, role, number, text, findings)
        if reader is not None:
            yield reader

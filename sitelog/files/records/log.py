"""A log: its records in the order of the file, and every line that could not be made one."""

from __future__ import annotations

from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.files.records.lines import lines_of, read_line
from sitelog.files.records.repeats import remember, repeated
from sitelog.files.source import Source
from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.language.kinds import LOG
from sitelog.language.kinds.base import Record
from sitelog.language.kinds.header import Day, Site
from sitelog.language.syntax.tokens import Entry

_new = tuple.__new__  # three times as fast as calling a NamedTuple


class Line(NamedTuple):
    """One entry and its record; no record where it could not be read."""

    entry: Entry
    record: Record | None


class Log(NamedTuple):
    """One log file."""

    file: str
    site: str  # empty where it does not say
    lines: tuple[Line, ...]
    findings: tuple[Finding, ...]
    text: tuple[str, ...] = ()  # every line as written, comments and blank ones too

    @property
    def last_day(self) -> date | None:
        """The day that the last `day` line opened."""
        days = [line.record.date for line in self.lines if isinstance(line.record, Day)]
        return days[-1] if days else None


def read_log(source: Source) -> Log:
    """Read a log; whatever is wrong with a line is a finding, and the next line is still read."""
    findings: list[Finding] = list(source.findings)
    lines: list[Line] = []
    site: Site | None = None
    for number, text in lines_of(source):
        record = repeated(source.file, text, number)
        if record is not None:
            entry = record.head.entry
        else:
            before = len(findings)
            reader = read_line(source.file, "log", number, text, findings)
            if reader is None:
                continue
            entry = reader.entry
            record = LOG[entry.kind].read(reader) if entry.kind != "?" else None
            findings += reader.findings
            if entry.comment and LOG[entry.kind].sized:
                _comment_ate_size(source.file, entry, findings)
            if record is not None and len(findings) == before:
                remember(record)
        lines.append(_new(Line, (entry, record)))
        if isinstance(record, Site):
            if site is None:
                site = record
            elif record.name.casefold() == site.name.casefold():
                findings.append(
                    _at(
                        source.file,
                        entry,
                        "two-sites",
                        f"the site is named twice; it stands in line {site.head.line}",
                    )
                )
            else:
                message = f"a second site in one log: it is about `{site.name}` since line {site.head.line}"
                findings.append(
                    _at(source.file, entry, "two-sites", message, "one log is one site: start a new file")
                )
    if site is None and not _tried_site(lines) and (lines or not source.findings):
        first = lines[0].entry if lines else Entry("", 1, "")
        findings.append(
            _at(
                source.file,
                first,
                "no-site",
                "the log does not say which site it is about",
                "begin it with `site NAME`",
            )
        )
    return Log(
        source.file, site.name if site is not None else "", tuple(lines), tuple(findings), source.lines
    )


def _tried_site(lines: list[Line]) -> bool:
    """Whether a line that could not be read was to name the site."""
    return any(line.record is None and line.entry.text.lstrip().lower().startswith("site") for line in lines)


def _at(file: str, entry: Entry, slug: str, message: str, help: str = "") -> Finding:
    start, end = entry.start, max(entry.end, entry.start + 1)
    return finding(slug, message, file, entry.number, start + 1, end + 1, entry.text, help)


def _comment_ate_size(file: str, entry: Entry, findings: list[Finding]) -> None:
    from sitelog.language.syntax.errors import comment_fault

    if fault := comment_fault(entry.text):
        findings.append(
            finding(
                fault.slug,
                fault.message,
                file,
                entry.number,
                fault.start + 1,
                fault.end + 1,
                entry.text,
                fault.help,
            )
        )

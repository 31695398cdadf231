"""What stood on an earlier day: a log, or a kit, without what was written for later days."""

from __future__ import annotations

from datetime import date

from sitelog.base.frozen import replace
from sitelog.files.records import Kit, Log
from sitelog.files.records.log import Line
from sitelog.language.kinds.header import Day, Visit


def log_until(log: Log, day: date) -> Log | None:
    """The log as it stood at the end of a day; None where it was begun later.

    An entry belongs to the day above it, or to its own date. A visit, with the header lines under it, belongs
    to the first day below it. What has no day at all is kept, as nobody can say when it was written.
    """
    lines: list[Line] = []
    later = False  # the line stands under a day, or a visit, that was still to come
    dated = False
    for at, line in enumerate(log.lines):
        record = line.record
        if isinstance(record, Day):
            later = record.date is not None and record.date > day
            dated |= record.date is not None and not later
        elif isinstance(record, Visit):
            first = _first_day(log.lines[at + 1 :])
            later = first is not None and first > day
        own = record.head.date if record is not None else None
        if not (later if own is None else own > day):
            lines.append(line)
            dated |= own is not None
    if len(lines) == len(log.lines):
        return log
    if not dated:
        return None
    numbers = {line.entry.number for line in log.lines} - {line.entry.number for line in lines}
    findings = tuple(finding for finding in log.findings if finding.line not in numbers)
    return log._replace(lines=tuple(lines), findings=findings)


def _first_day(lines: tuple[Line, ...]) -> date | None:
    """The first day that is written before the next visit."""
    for line in lines:
        if isinstance(line.record, Visit):
            return None
        if isinstance(line.record, Day):
            return line.record.date
        if line.record is not None and line.record.head.date is not None:
            return line.record.head.date
    return None


def kit_until(kit: Kit, day: date) -> Kit:
    """The kit without the calibrations that were still to come: nobody knew yet what they would find."""
    found = {
        key: tuple(calibration for calibration in some if calibration.day <= day)
        for key, some in kit.calibrations.items()
    }
    return replace(kit, calibrations={key: some for key, some in found.items() if some})

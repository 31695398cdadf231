"""Signatures and time: what is signed was done before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.judging.site.observations import LogEntry
from sitelog.judging.site.strikes import Struck
from sitelog.language.kinds.header import Crew, Day, NamedKit, NamedSheet, Site, Visit, Zone
from sitelog.language.kinds.paper import Sign

_HEADER = (Crew, Day, NamedKit, NamedSheet, Site, Visit, Zone)


def later_than_signed(entries: Sequence[LogEntry], struck: Struck) -> Iterator[Finding]:
    """The entries that stand above a signature of their file and are dated later than it.

    `entries` are those of a site in the order of the job. On one day both need a time of their own.
    """
    signed: dict[str, LogEntry] = {}  # the lowest signature in each file so far
    for entry in entries:
        line = entry.entry.number
        if isinstance(entry.record, Sign):
            below = signed.get(entry.file)
            if (entry.file, line) not in struck.lines and (below is None or below.entry.number < line):
                signed[entry.file] = entry
            continue
        sign = signed.get(entry.file)
        if (
            sign is not None
            and line < sign.entry.number
            and entry.record is not None
            and not isinstance(entry.record, _HEADER)
            and (entry.file, line) not in struck.lines
            and _is_later(entry, sign)
        ):
            moment = sign.context.moment
            when = f"{moment.day} {moment.clock}" if moment.clock is not None else str(moment.day)
            message = (
                f"this is dated later than the signature in line {sign.entry.number} that closes it, {when}"
            )
            help = "see which date is wrong, or write it below the signature"
            yield finding_at(entry.entry.span(entry.file), "dated-after-signature", message, help)


def _is_later(entry: LogEntry, sign: LogEntry) -> bool:
    done, closed = entry.context.moment, sign.context.moment
    if done.day is None or closed.day is None:
        return False
    if done.day != closed.day:
        return done.day > closed.day
    return (
        done.clock is not None
        and closed.clock is not None
        and done.clock.seconds >= closed.clock.seconds + closed.clock.grain
    )

"""Defects: found, graded, cleared, found again."""

from __future__ import annotations

from sitelog.base.frozen import NamedTuple
from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.judging.site import LogEntry, SiteLog
from sitelog.language.kinds.paper import Cleared, Defect


class Nonconformity(NamedTuple):
    """One defect from found to cleared; `cleared` is None while it is open.

    One that was found again after it had been cleared is the same defect: `again` is where it was found the
    last time, and its grade, place and words are those written there.
    """

    name: str
    grade: str
    place: str
    about: str
    opened: LogEntry
    cleared: LogEntry | None
    again: LogEntry | None = None

    @property
    def since(self) -> LogEntry:
        """Where it was found, the last time where it came back."""
        return self.again or self.opened

    @property
    def open(self) -> bool:
        """Whether it has not been put right."""
        return self.cleared is None


def nonconformities(site: SiteLog) -> tuple[list[Nonconformity], list[Finding]]:
    """Every defect of a site in order, and what is wrong with how they are written."""
    found: list[Nonconformity] = []
    findings: list[Finding] = []
    for one in site.of(Defect, Cleared):
        record = one.record
        if (one.file, one.entry.number) in site.struck.lines:
            continue
        if isinstance(record, Defect):
            known = next(
                (i for i, defect in enumerate(found) if defect.name.casefold() == record.name.casefold()),
                -1,
            )
            if known >= 0 and found[known].open:
                message = f"{record.name} is open already, since line {found[known].since.entry.number}"
                findings.append(_at(one, "defect-twice", message, "give the new one a name of its own"))
                continue
            place = record.places[0].name if record.places else ""
            if known >= 0:
                before = found[known]
                found[known] = Nonconformity(
                    before.name, record.grade, place or before.place, record.about, before.opened, None, one
                )
                continue
            found.append(Nonconformity(record.name, record.grade, place, record.about, one, None))
        elif isinstance(record, Cleared):
            for name in record.names:
                at = next(
                    (
                        i
                        for i, defect in enumerate(found)
                        if defect.open and defect.name.casefold() == name.name.casefold()
                    ),
                    -1,
                )
                if at >= 0:
                    found[at] = found[at]._replace(cleared=one)
                    continue
                names = ", ".join(defect.name for defect in found if defect.open)
                help = f"open are: {names}" if names else "no defect is open"
                findings.append(
                    _at(
                        one,
                        "defect-unknown",
                        f"no defect `{name.name}` is open here",
                        help,
                        name.start,
                        name.end,
                    )
                )
    return found, findings


def _at(one: LogEntry, slug: str, message: str, help: str, start: int = -1, end: int = -1) -> Finding:
    entry = one.entry
    start, end = (entry.start, entry.end) if start < 0 else (start, end)
    return finding(slug, message, one.file, entry.number, start + 1, end + 1, entry.text, help)

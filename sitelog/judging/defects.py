"""Defects: found, graded, cleared, found again."""

from __future__ import annotations

from sitelog.base.frozen import NamedTuple
from sitelog.findings.catalog import finding_at
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
    for entry in site.of(Defect, Cleared):
        record = entry.record
        if site.is_struck(entry):
            continue
        if isinstance(record, Defect):
            known = next(
                (i for i, defect in enumerate(found) if defect.name.casefold() == record.name.casefold()),
                -1,
            )
            if known >= 0 and found[known].open:
                message = f"{record.name} is open already, since line {found[known].since.entry.number}"
                span = entry.entry.span(entry.file)
                findings.append(
                    finding_at(span, "defect-twice", message, "give the new one a name of its own")
                )
                continue
            place = record.places[0].name if record.places else ""
            if known >= 0:
                before = found[known]
                found[known] = Nonconformity(
                    before.name, record.grade, place or before.place, record.about, before.opened, None, entry
                )
                continue
            found.append(Nonconformity(record.name, record.grade, place, record.about, entry, None))
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
                    found[at] = found[at]._replace(cleared=entry)
                    continue
                names = ", ".join(defect.name for defect in found if defect.open)
                help = f"open are: {names}" if names else "no defect is open"
                findings.append(
                    finding_at(
                        entry.entry.span(entry.file, name.start, name.end),
                        "defect-unknown",
                        f"no defect `{name.name}` is open here",
                        help,
                    )
                )
    return found, findings

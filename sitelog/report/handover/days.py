"""The days: what was done in which order, and how long was waited."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date

from sitelog.asking.subjects import HISTORIES
from sitelog.base.verdicts import NOT_APPLICABLE, worst_of
from sitelog.judging.results import Result
from sitelog.judging.site import LogEntry
from sitelog.language.kinds.base import Record
from sitelog.language.kinds.header import Crew, Day, NamedKit, NamedSheet, Zone
from sitelog.language.kinds.header import Site as NamedSite
from sitelog.language.kinds.paper import Sign, Text
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.step import Did, Lock
from sitelog.notation.places import compress
from sitelog.notation.quantities import Quantity
from sitelog.report.handover.document import Figures, Part, Timeline
from sitelog.report.handover.handover_site import HandoverSite
from sitelog.report.pictures.shapes import Event

_HEADINGS = (NamedSheet, NamedKit, NamedSite, Crew, Zone, Day)
_LONG = 60  # letters of a line in a label


def days(handover_site: HandoverSite) -> list[Part]:
    """A picture of each day, then the steps with their waits."""
    by_day: dict[date, list[LogEntry]] = defaultdict(list)
    for one in handover_site.log.entries:
        if one.context.moment.day is not None:
            by_day[one.context.moment.day].append(one)
    verdicts = _verdicts_of_lines(handover_site)
    results: dict[tuple[str, int], list[Result]] = defaultdict(list)
    for result in handover_site.site.results:
        if result.observation is not None:
            results[result.observation.file, result.observation.line].append(result)
    pictures: list[Timeline] = []
    for day, entries in sorted(by_day.items()):
        events = tuple(
            event
            for one in entries
            if (event := _event(handover_site, one, results[one.file, one.entry.number], verdicts))
            is not None
        )
        if events:
            purpose = handover_site.log.visits[entries[0].context.moment.visit].purpose
            pictures.append(Timeline(f"{day}, {purpose}", f"{day}", events))
    return [
        *([Figures(tuple(pictures))] if pictures else []),
        *handover_site.table(
            "steps",
            handover_site.rows("steps"),
            "Steps with their order and waits",
            "step; verdict; waited; wanted wait asked; after comes after; before comes before; "
            "source asked by; done by; remark; line where",
        ),
    ]


LineKey = tuple[str, int]


def _verdicts_of_lines(handover_site: HandoverSite) -> dict[LineKey, list[str]]:
    """Every verdict of each line: of all that was written in it, also where something newer stands since."""
    found: dict[LineKey, list[str]] = defaultdict(list)
    for subject in HISTORIES:
        for row in handover_site.history(subject):
            if row.get("verdict") and row.get("file") and isinstance(row.get("line"), int):
                found[str(row["file"]), int(str(row["line"]))].append(str(row["verdict"]))
    return found


def _event(
    handover_site: HandoverSite, one: LogEntry, results: list[Result], verdicts: Mapping[LineKey, list[str]]
) -> Event | None:
    """What an entry looks like in the picture of its day; None for the log's headings, which are no work."""
    if isinstance(one.record, _HEADINGS):
        return None
    clock = one.context.moment.clock
    minutes = clock.seconds / 60 if clock is not None else None
    label = _label(one)
    struck = (one.file, one.entry.number) in handover_site.log.struck.lines
    counted = [result.verdict for result in results if result.verdict != NOT_APPLICABLE and not struck]
    counted += [] if struck else verdicts.get((one.file, one.entry.number), [])
    verdict = worst_of(counted) if counted else ""
    waited = _waited(one.record)
    wanted = next(
        (result.requirement.wait for result in results if result.requirement and result.requirement.wait),
        None,
    )
    start, end = minutes, None
    if waited is not None and minutes is not None:  # the wait ends where the step is written
        start, end = minutes - float(waited.base) / 60, minutes
    return Event(
        start,
        end,
        f"{label} (struck)" if struck else label,
        one.entry.kind,
        verdict,
        handover_site.link(one.file, one.entry.number),
        float(wanted.base) / 60 if wanted is not None else None,
    )


def _waited(record: Record | None) -> Quantity | None:
    """The wait as written."""
    if isinstance(record, Did):
        return record.waited
    return record.after if isinstance(record, Reading) else None


def _label(one: LogEntry) -> str:
    record = one.record
    if isinstance(record, Sign):
        return f"signed by {record.who}: {record.purpose}"
    if record is None:
        return f"cannot be read: {one.entry.text.strip()[:_LONG]}"
    if not one.observations and not isinstance(record, Text):
        return " ".join(one.entry.text.split())[:_LONG]
    if isinstance(record, Text):
        return f"{record.kind}: {record.words}"
    whats = (
        []
        if isinstance(record, Lock)
        else list(dict.fromkeys(filter(None, (m.what for m in one.observations))))
    )
    places = list(dict.fromkeys(obs.place for obs in one.observations if obs.place))
    return " ".join(filter(None, (one.entry.kind, ", ".join(whats[:4]), compress(places))))

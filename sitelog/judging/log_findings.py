"""Findings of what a log says by itself: defects, what is still to do, days to come, who may sign."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from sitelog.base.frozen import NamedTuple
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.judging.defects import Nonconformity
from sitelog.judging.site import CLOSING, LogEntry, SiteLog
from sitelog.language.kinds.electric import Device
from sitelog.language.kinds.header import Day
from sitelog.language.kinds.paper import NotApplicable, Sign, Text


class Unfinished(NamedTuple):
    """What a log says is not finished: its defects, its open `todo` entries, and an `away` without `back`."""

    nonconformities: tuple[Nonconformity, ...]
    todos: tuple[LogEntry, ...]
    away: LogEntry | None


def unfinished(log: SiteLog, nonconformities: Sequence[Nonconformity]) -> Unfinished:
    """What a log says is not finished; `nonconformities` are its defects, the cleared ones too."""
    return Unfinished(tuple(nonconformities), tuple(_todos(log)), _away(log))


def log_findings(log: SiteLog, open_work: Unfinished, today: date) -> Iterator[Finding]:
    """Every finding of this module, by the day `today`."""
    yield from _signed_for_another_visit(log)
    yield from _signed_by_no_lead(log)
    yield from _cleared_dangers(log, open_work.nonconformities)
    yield from _devices_changed(log)
    yield from _open_defects(log, open_work.nonconformities)
    yield from _future_days(log, today)
    yield from _left_to_do(open_work)


def _live_texts(log: SiteLog, kind: str) -> list[LogEntry]:
    return [
        entry
        for entry in log.of(Text)
        if isinstance(entry.record, Text) and entry.record.kind == kind and not log.is_struck(entry)
    ]


def _away(log: SiteLog) -> LogEntry | None:
    """The `away` that no `back` follows."""
    away = _live_texts(log, "away")
    back = _live_texts(log, "back")
    if not away or (back and back[-1].context.moment.order > away[-1].context.moment.order):
        return None
    return away[-1]


def _todos(log: SiteLog) -> list[LogEntry]:
    """Each `todo` that no `done` with the same words follows."""
    done = [(entry.context.moment.order, _plain(entry)) for entry in _live_texts(log, "done")]
    return [
        todo
        for todo in _live_texts(log, "todo")
        if not any(order > todo.context.moment.order and words == _plain(todo) for order, words in done)
    ]


def _plain(entry: LogEntry) -> str:
    assert isinstance(entry.record, Text)
    return " ".join(entry.record.words.casefold().split()).rstrip(".")


def _at(entry: LogEntry, slug: str, message: str, help: str = "", severity: str = "") -> Finding:
    return finding_at(entry.entry.span(entry.file), slug, message, help, severity)


def _left_to_do(open_work: Unfinished) -> Iterator[Finding]:
    for todo in open_work.todos:
        if isinstance(todo.record, Text):
            words = todo.record.words
            yield _at(todo, "todo", f"still to do: {words}", f"when it is done, write `done {words}`")
    away = open_work.away
    if away is not None and isinstance(away.record, Text):
        words = away.record.words or "nothing was said of the state it was left in"
        yield _at(away, "away", f"left half way: {words}", "write `back` when work goes on")


def _future_days(log: SiteLog, today: date) -> Iterator[Finding]:
    """Days later than tomorrow: somewhere it is tomorrow already, and nowhere any later."""
    tomorrow = today + timedelta(days=1)
    last = log.entries[-1].context.moment.day if log.entries else None  # they stand in the order of days
    for entry in log.entries if last is not None and last > tomorrow else ():
        day = entry.record.date if isinstance(entry.record, Day) else None
        if entry.record is not None and entry.record.head.date is not None:
            day = entry.record.head.date
        if day is not None and day > tomorrow:
            message = f"{day} is still to come: today is {today}"
            yield _at(entry, "future-day", message, "see which year, month or day is wrong")


def _open_defects(log: SiteLog, nonconformities: Sequence[Nonconformity]) -> Iterator[Finding]:
    for defect in nonconformities:
        if not defect.open:
            continue
        place = f" of {defect.place}" if defect.place else ""
        again = "" if defect.again is None else f" again, first found in line {defect.opened.entry.number}"
        message = f"{defect.name} ({defect.grade}){place} is open{again}: {defect.about}"
        signed = log.visits[defect.since.context.moment.visit].signed
        if defect.grade == "danger":
            yield _at(defect.since, "danger-open", message, "make safe first")
        elif signed is not None:
            message = f"{message}, and {signed.who} has signed"
            yield _at(defect.since, "defect-open", message, severity="error")
        else:
            help = f"when it is put right, write `cleared {defect.name}`"
            yield _at(defect.since, "defect-open", message, help)


def _signed_for_another_visit(log: SiteLog) -> Iterator[Finding]:
    """A signature closes the visit that it stands in, for that visit's purpose and no other."""
    for entry in log.of(Sign):
        record, visit = entry.record, log.visits[entry.context.moment.visit]
        wanted = CLOSING.get(visit.purpose, "")
        if (
            isinstance(record, Sign)
            and record.purpose in CLOSING.values()
            and wanted
            and record.purpose != wanted
            and not log.is_struck(entry)
        ):
            message = f"the visit is {_WITH_ARTICLE[visit.purpose]}, and this signs for `{record.purpose}`"
            yield _at(entry, "sign-purpose", message, f"write `sign {record.who} {wanted}`")


_WITH_ARTICLE = {"install": "an install", "service": "a service", "removal": "a removal"}


def _cleared_dangers(log: SiteLog, nonconformities: Sequence[Nonconformity]) -> Iterator[Finding]:
    """A danger is cleared with a word of how it was put right, and by a lead where the crew has one."""
    leads = _leads(log)
    for defect in nonconformities:
        cleared = defect.cleared
        if cleared is None or defect.grade != "danger":
            continue
        if not cleared.entry.remark:
            message = f"the danger {defect.name} is cleared without a word of how"
            yield _at(cleared, "reason-wanted", message, "add ` -- ` and what was done")
        who = log.crew.get(cleared.context.by.casefold())
        if leads and (who is None or who.role != "lead"):
            message = f"`{cleared.context.by or 'nobody'}` is no lead, and clears the danger {defect.name}"
            help = f"let {' or '.join(leads)} look at it and write it"
            yield _at(cleared, "not-a-lead", message, help, "warning")


def _devices_changed(log: SiteLog) -> Iterator[Finding]:
    """A place has one device: given again with other values in one visit, the newest stands and is told."""
    last: dict[tuple[int, str], tuple[Device, LogEntry]] = {}
    for entry in log.of(Device):
        if not isinstance(entry.record, Device) or log.is_struck(entry):
            continue
        for place in entry.record.places:
            key = entry.context.moment.visit, place.name.casefold()
            if key in last and _ratings(last[key][0]) != _ratings(entry.record):
                before = last[key][1].entry.number
                message = f"{place.name} was another device in line {before}; this one stands now"
                help = "strike the line that is wrong, or say in a remark why it was changed"
                yield _at(entry, "device-changed", message, help)
            last[key] = entry.record, entry


def _ratings(device: Device) -> tuple[object, ...]:
    values = (device.rating, device.breaking, device.residual)
    return (device.curve, device.type, *(value and value.base for value in values))


def _leads(log: SiteLog) -> list[str]:
    return [person.name for person in log.crew.values() if person.role == "lead"]


def _signed_by_no_lead(log: SiteLog) -> Iterator[Finding]:
    """A visit is signed by a lead of the crew, and `n/a` is a lead's word.

    Where the crew names nobody as lead, nobody is known to be one, which is a warning.
    """
    leads = _leads(log)
    for entry in log.of(Sign, NotApplicable):
        record = entry.record
        if isinstance(record, Sign) and record.purpose in CLOSING.values() and not log.is_struck(entry):
            signer = log.crew.get(record.who.casefold())
            if signer is None:
                message = f"`{record.who}` signs and is not in the crew"
                yield _at(entry, "unknown-person", message, f"add `crew {record.who}` above")
            elif signer.role != "lead":
                message = f"`{signer.name}` is no lead, and signs the visit as {record.purpose}"
                help = f"let {' or '.join(leads)} sign" if leads else "nobody is: write `crew NAME lead`"
                yield _at(entry, "not-a-lead", message, help, "" if leads else "warning")
        if isinstance(record, NotApplicable):
            who = log.crew.get(entry.context.by.casefold())
            if who is None or who.role != "lead":
                name = entry.context.by or "nobody"
                message = f"`{name}` is no lead, so this still counts as missing"
                yield _at(entry, "not-a-lead", message, "let a lead write it: `by` and the lead's name")

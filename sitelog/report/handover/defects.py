"""Defects from open to cleared, and the photos."""

from __future__ import annotations

from collections.abc import Callable

from sitelog.judging.site import LogEntry
from sitelog.language.kinds.paper import Cleared, Defect
from sitelog.language.kinds.paper import Photo as Named
from sitelog.report.handover.document import Cell, Part, Photo, Photos, Table, heads_of
from sitelog.report.handover.told import Row, Told
from sitelog.report.photos import beside

MOST_BYTES = 12_000_000
"""Photos inlined in one page, all together; the others are named."""


def defects(told: Told) -> list[Part]:
    """Every defect, what was said of it, and its photos."""

    def own(name: str, row: Row) -> Cell | None:
        if name != "verdict":
            return None
        return Cell("✓ cleared", look="good") if row["verdict"] == "cleared" else Cell("✗ open", look="bad")

    rows = told.rows("defects")
    names = {str(row["defect"]).casefold() for row in rows}
    table = told.table(
        "defects",
        rows,
        "Defects from found to cleared",
        "defect; severity grade; place of; about what is wrong; opened found; reopened found again; "
        "cleared; age days open; by found by; verdict state; line where",
        own,
    )
    return [*table, *_course(told), *_photos(told, "Photos of defects", lambda place: place in names)]


def _course(told: Told) -> list[Part]:
    """Every line about a defect, in order, where one was cleared."""
    lines = [one for one in told.log.entries if isinstance(one.record, (Defect, Cleared))]
    if not any(isinstance(one.record, Cleared) for one in lines):
        return []
    heads = heads_of("defect; what; words …; by @; where @")
    return [Table("Each step of a defect", heads, tuple(_step(told, one) for one in lines))]


def _step(told: Told, one: LogEntry) -> tuple[Cell, ...]:
    record, moment = one.record, one.context.moment
    day = f"{moment.day or ''} {moment.clock or ''}".strip()
    struck = (one.file, one.entry.number) in told.log.struck.lines
    if isinstance(record, Defect):
        what, names, words = f"found, {record.grade}", record.name, record.about
    else:
        assert isinstance(record, Cleared)
        what, names, words = "cleared", ", ".join(name.name for name in record.names), one.entry.remark
    what = f"{what} (struck)" if struck else what
    return (
        Cell(names), Cell(what, struck=struck), Cell(words, struck=struck), Cell(one.context.by, note=day),
        told.of(one),
    )  # fmt: skip


def photos(told: Told) -> list[Part]:
    """The photos of anything but defects, and those that are asked."""
    names = {str(row["defect"]).casefold() for row in told.rows("defects")}
    table = told.table(
        "photos",
        told.rows("photos"),
        "Photos, asked and taken",
        "of; photo file; verdict; source asked by; done by; remark; line where",
    )
    return [*table, *_photos(told, "Photos", lambda place: place not in names)]


def _photos(told: Told, caption: str, wanted: Callable[[str], bool]) -> list[Part]:
    found = [
        _photo(told, one, one.record)
        for one in told.log.entries
        if isinstance(one.record, Named)
        and one.record.file_name.strip("_")
        and (one.file, one.entry.number) not in told.log.struck.lines
        and wanted(next((place.name.casefold() for place in one.record.places), ""))
    ]
    return [Photos(caption, tuple(found))] if found else []


def _photo(told: Told, one: LogEntry, record: Named) -> Photo:
    of = ", ".join(place.name for place in record.places)
    about = " – ".join(filter(None, (of, one.entry.remark))) or record.file_name
    link = told.link(one.file, one.entry.number)
    if told.shrink is None:
        return Photo(record.file_name, about, "", 0, 0, "", link)
    shown = told.shrink(beside(one.file, record.file_name))
    if told.inlined + len(shown.data) > MOST_BYTES:
        return Photo(record.file_name, about, "", 0, 0, "the page has no room for more photos", link)
    told.inlined += len(shown.data)
    return Photo(record.file_name, about, shown.address, shown.width, shown.height, shown.reason, link)

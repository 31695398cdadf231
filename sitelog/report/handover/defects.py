"""Defects from open to cleared, and the photos."""

from __future__ import annotations

from collections.abc import Callable

from sitelog.judging.site import LogEntry
from sitelog.language.kinds.paper import Cleared, Defect
from sitelog.language.kinds.paper import Photo as Named
from sitelog.report.handover.document import Cell, PagePhoto, PageTable, Part, Photos, heads_of
from sitelog.report.handover.handover_site import HandoverSite, NamedRow
from sitelog.report.photos import beside

MOST_BYTES = 12_000_000
"""Photos inlined in one page, all together; the others are named."""


def defects(handover_site: HandoverSite) -> list[Part]:
    """Every defect, what was said of it, and its photos."""

    def own(name: str, row: NamedRow) -> Cell | None:
        if name != "verdict":
            return None
        return Cell("✓ cleared", look="good") if row["verdict"] == "cleared" else Cell("✗ open", look="bad")

    rows = handover_site.rows("defects")
    names = {str(row["defect"]).casefold() for row in rows}
    table = handover_site.table(
        "defects",
        rows,
        "Defects from found to cleared",
        "defect; severity grade; place of; about what is wrong; opened found; reopened found again; "
        "cleared; age days open; by found by; verdict state; line where",
        own,
    )
    return [
        *table,
        *_course(handover_site),
        *_photos(handover_site, "Photos of defects", lambda place: place in names),
    ]


def _course(handover_site: HandoverSite) -> list[Part]:
    """Every line about a defect, in order, where one was cleared."""
    lines = [one for one in handover_site.log.entries if isinstance(one.record, (Defect, Cleared))]
    if not any(isinstance(one.record, Cleared) for one in lines):
        return []
    heads = heads_of("defect; what; words …; by @; where @")
    return [PageTable("Each step of a defect", heads, tuple(_step(handover_site, one) for one in lines))]


def _step(handover_site: HandoverSite, one: LogEntry) -> tuple[Cell, ...]:
    record, moment = one.record, one.context.moment
    day = f"{moment.day or ''} {moment.clock or ''}".strip()
    struck = (one.file, one.entry.number) in handover_site.log.struck.lines
    if isinstance(record, Defect):
        what, names, words = f"found, {record.grade}", record.name, record.about
    else:
        assert isinstance(record, Cleared)
        what, names, words = "cleared", ", ".join(name.name for name in record.names), one.entry.remark
    what = f"{what} (struck)" if struck else what
    return (
        Cell(names), Cell(what, struck=struck), Cell(words, struck=struck), Cell(one.context.by, note=day),
        handover_site.of(one),
    )  # fmt: skip


def photos(handover_site: HandoverSite) -> list[Part]:
    """The photos of anything but defects, and those that are asked."""
    names = {str(row["defect"]).casefold() for row in handover_site.rows("defects")}
    table = handover_site.table(
        "photos",
        handover_site.rows("photos"),
        "Photos, asked and taken",
        "of; photo file; verdict; source asked by; done by; remark; line where",
    )
    return [*table, *_photos(handover_site, "Photos", lambda place: place not in names)]


def _photos(handover_site: HandoverSite, caption: str, wanted: Callable[[str], bool]) -> list[Part]:
    found = [
        _photo(handover_site, one, one.record)
        for one in handover_site.log.entries
        if isinstance(one.record, Named)
        and one.record.file_name.strip("_")
        and (one.file, one.entry.number) not in handover_site.log.struck.lines
        and wanted(next((place.name.casefold() for place in one.record.places), ""))
    ]
    return [Photos(caption, tuple(found))] if found else []


def _photo(handover_site: HandoverSite, one: LogEntry, record: Named) -> PagePhoto:
    of = ", ".join(place.name for place in record.places)
    about = " – ".join(filter(None, (of, one.entry.remark))) or record.file_name
    link = handover_site.link(one.file, one.entry.number)
    if handover_site.shrink is None:
        return PagePhoto(record.file_name, about, "", 0, 0, "", link)
    shown = handover_site.shrink(beside(one.file, record.file_name))
    if handover_site.inlined + len(shown.data) > MOST_BYTES:
        return PagePhoto(record.file_name, about, "", 0, 0, "the page has no room for more photos", link)
    handover_site.inlined += len(shown.data)
    return PagePhoto(record.file_name, about, shown.address, shown.width, shown.height, shown.reason, link)

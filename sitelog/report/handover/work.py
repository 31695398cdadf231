"""What was put up, looked at, laid and set: parts, holes, looks, conductors, settings."""

from __future__ import annotations

from sitelog.language.kinds.paper import Ref
from sitelog.report.handover.document import Cell, PageTable, Part, heads_of
from sitelog.report.handover.handover_site import HandoverSite


def parts(handover_site: HandoverSite) -> list[Part]:
    """Which serial sits where, what sat there before, and references such as permits."""
    now = handover_site.table(
        "parts",
        handover_site.rows("parts"),
        "Parts: who sits where",
        "part; serial; verdict; since; until; previous before it; moved_from came from; "
        "moved_to went to; registered; source asked by; line where",
    )
    history = handover_site.history("parts")
    gone = {str(row["part"]).casefold() for row in history if row["until"]}
    moved = [row for row in history if str(row["part"]).casefold() in gone]
    then = handover_site.table(
        "parts",
        moved,
        "Parts that were changed or taken out, from first to last",
        "part; serial; since; until; previous before it; moved_from came from; "
        "moved_to went to; remark; line where",
    )
    return [*now, *then, *_references(handover_site)]


def _references(handover_site: HandoverSite) -> list[Part]:
    rows = tuple(
        (Cell(one.record.what), Cell(one.record.value, note=one.entry.remark), handover_site.of(one))
        for one in handover_site.log.entries
        if isinstance(one.record, Ref) and (one.file, one.entry.number) not in handover_site.log.struck.lines
    )
    heads = heads_of("reference; number; where")
    return [PageTable("Permits, notices and other references", heads, rows)] if rows else []


def holes(handover_site: HandoverSite) -> list[Part]:
    """Every hole beside its limits."""
    return handover_site.table(
        "holes",
        handover_site.rows("holes"),
        "Holes beside their limits",
        "place hole; verdict; diameter; diameter_low at least; diameter_high at most; depth; "
        "depth_low at least; depth_high at most; source source of the limit; done by; "
        "remark; line where",
    )


def looks(handover_site: HandoverSite) -> list[Part]:
    """What was looked at, and found."""
    return handover_site.table(
        "looks",
        handover_site.rows("looks"),
        "Looked at",
        "what looked at; place; value found; verdict; wanted; source asked by; done by; remark; line where",
    )


def cables(handover_site: HandoverSite) -> list[Part]:
    """Conductors with what was computed of them."""
    rows = handover_site.rows("cables")
    measured = handover_site.table(
        "cables",
        rows,
        "Conductors as laid",
        "place conductor; verdict; size; metal; length length, one way; current; voltage; "
        "system; capacity may carry; fuse; done by; line where",
    )
    limits = {
        result.place: "; ".join(asked.text for _, asked in result.requirement.items)
        for result in handover_site.results("cable")
        if result.requirement is not None
    }

    def own(name: str, row: dict[str, object]) -> Cell | None:
        if name != "source":
            return None
        return Cell(limits.get(str(row["place"]), ""), note=str(row["source"] or ""))

    computed = handover_site.table(
        "cables",
        [row for row in rows if row["size"] is not None],
        "Conductors as computed, beside what is asked",
        "place conductor; drop voltage drop; drop_volts in volts; loss heat; "
        "adiabatic stands its fault from; margin; source asked; basis computed from; "
        "line where",
        own,
    )
    return [*measured, *computed]


def settings(handover_site: HandoverSite) -> list[Part]:
    """Settings beside what is asked."""
    return handover_site.table(
        "settings",
        handover_site.rows("settings"),
        "Settings",
        "what setting; place of; value; verdict; wanted asked; source asked by; done by; line where",
    )

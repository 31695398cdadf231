"""What was put up, looked at, laid and set: parts, holes, looks, conductors, settings."""

from __future__ import annotations

from sitelog.language.kinds.paper import Ref
from sitelog.report.handover.document import Cell, Part, Table, heads_of
from sitelog.report.handover.told import Told


def parts(told: Told) -> list[Part]:
    """Which serial sits where, what sat there before, and references such as permits."""
    now = told.table(
        "parts",
        told.rows("parts"),
        "Parts: who sits where",
        "part; serial; verdict; since; until; previous before it; moved_from came from; "
        "moved_to went to; registered; source asked by; line where",
    )
    history = told.history("parts")
    gone = {str(row["part"]).casefold() for row in history if row["until"]}
    moved = [row for row in history if str(row["part"]).casefold() in gone]
    then = told.table(
        "parts",
        moved,
        "Parts that were changed or taken out, from first to last",
        "part; serial; since; until; previous before it; moved_from came from; "
        "moved_to went to; remark; line where",
    )
    return [*now, *then, *_references(told)]


def _references(told: Told) -> list[Part]:
    rows = tuple(
        (Cell(one.record.what), Cell(one.record.value, note=one.entry.remark), told.of(one))
        for one in told.log.entries
        if isinstance(one.record, Ref) and (one.file, one.entry.number) not in told.log.struck.lines
    )
    heads = heads_of("reference; number; where")
    return [Table("Permits, notices and other references", heads, rows)] if rows else []


def holes(told: Told) -> list[Part]:
    """Every hole beside its limits."""
    return told.table(
        "holes",
        told.rows("holes"),
        "Holes beside their limits",
        "place hole; verdict; diameter; diameter_low at least; diameter_high at most; depth; "
        "depth_low at least; depth_high at most; source source of the limit; done by; "
        "remark; line where",
    )


def looks(told: Told) -> list[Part]:
    """What was looked at, and found."""
    return told.table(
        "looks",
        told.rows("looks"),
        "Looked at",
        "what looked at; place; value found; verdict; wanted; source asked by; done by; remark; line where",
    )


def cables(told: Told) -> list[Part]:
    """Conductors with what was computed of them."""
    rows = told.rows("cables")
    measured = told.table(
        "cables",
        rows,
        "Conductors as laid",
        "place conductor; verdict; size; metal; length length, one way; current; voltage; "
        "system; capacity may carry; fuse; done by; line where",
    )
    limits = {
        result.place: "; ".join(asked.text for _, asked in result.requirement.items)
        for result in told.results("cable")
        if result.requirement is not None
    }

    def own(name: str, row: dict[str, object]) -> Cell | None:
        if name != "source":
            return None
        return Cell(limits.get(str(row["place"]), ""), note=str(row["source"] or ""))

    computed = told.table(
        "cables",
        [row for row in rows if row["size"] is not None],
        "Conductors as computed, beside what is asked",
        "place conductor; drop voltage drop; drop_volts in volts; loss heat; "
        "adiabatic stands its fault from; margin; source asked; basis computed from; "
        "line where",
        own,
    )
    return [*measured, *computed]


def settings(told: Told) -> list[Part]:
    """Settings beside what is asked."""
    return told.table(
        "settings",
        told.rows("settings"),
        "Settings",
        "what setting; place of; value; verdict; wanted asked; source asked by; done by; line where",
    )

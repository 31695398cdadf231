"""What is open, what was found, defects, tools, signatures."""

from __future__ import annotations

from itertools import groupby

from sitelog.report.handover.cover import gap_cell
from sitelog.report.handover.document import Cell, Head, Items, Part, Table, Words
from sitelog.report.handover.told import Told, columns_of


def still_open(told: Told) -> list[Part]:
    """Everything that is still to do, by stage."""
    if not told.site.gaps:
        return [Words("Nothing that the sheets ask is open.")] if told.log.sheets else []
    return [
        Items(tuple(gap_cell(told, gap) for gap in some), stage)
        for stage, some in groupby(told.site.gaps, key=lambda gap: gap.stage)
    ]


def findings(told: Told) -> list[Part]:
    """Errors and warnings, each with its line."""
    some = [one for one in told.findings if one.severity in ("error", "warning")]
    some.sort(key=lambda one: (one.severity, one.file, one.line, one.column))
    rows = tuple(
        (
            told.place(one.file, one.line),
            Cell(*{"error": ("✗ error", "", "bad")}.get(one.severity, ("△ warning", "", "open"))),
            Cell(one.message, note=one.help),
            Cell(one.slug),
        )
        for one in some
    )
    heads = (Head("where"), Head("severity"), Head("what", "words"), Head("finding"))
    return [Table("What is wrong, and what is in doubt", heads, rows)] if rows else []


def defects(told: Told) -> list[Part]:
    """Defects from open to cleared."""
    columns = columns_of(
        "defect defect; severity grade; place of; about what is wrong; opened found; "
        "reopened found again; cleared cleared; age days open; verdict state; line where"
    )

    def own(name: str, row: dict[str, object]) -> Cell | None:
        if name != "verdict":
            return None
        return Cell("✓ cleared", look="good") if row["verdict"] == "cleared" else Cell("✗ open", look="bad")

    table = told.table("defects", told.rows("defects"), "Defects from found to cleared", columns, own)
    return [table] if table is not None else []


def tools(told: Told) -> list[Part]:
    """Tools with the certificates in force."""
    return []


def signatures(told: Told) -> list[Part]:
    """Signatures and whether they still hold."""
    columns = columns_of("who who; purpose for; day day; time time; holds holds; because because; line where")
    table = told.table("signatures", told.rows("signatures"), "Signatures", columns)
    return [table] if table is not None else []

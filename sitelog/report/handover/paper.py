"""What is open, what is wrong, and who signed for it."""

from __future__ import annotations

from itertools import groupby

from sitelog.files.signatures import SignatureCheck
from sitelog.language.kinds.paper import OLD_DIGEST, Received
from sitelog.report.handover.cover import gap_cell
from sitelog.report.handover.document import Cell, Items, Part, Table, Words, heads_of
from sitelog.report.handover.told import Row, Told
from sitelog.views.findings import READY


def still_open(told: Told) -> list[Part]:
    """Everything that is still to do, by stage, in the order of the work."""
    if not told.log.sheets:
        return [Words("No sheet is in reach, so nothing tells what is open.", "open")]
    if not told.site.gaps:
        return [Words(f"{READY.capitalize()}: {told.sheets}.")]
    waits = {stage.name: stage.blocked_by for stage in told.site.stages}
    parts: list[Part] = []
    for stage, gaps in groupby(told.site.gaps, key=lambda gap: gap.stage):
        first = ", ".join(waits.get(stage, ()))
        name = f"{stage or 'asked by the sheets'}{f' (waits for {first})' if first else ''}"
        parts.append(Items(tuple(gap_cell(told, gap) for gap in gaps), name))
    return parts


def findings(told: Told) -> list[Part]:
    """Errors and warnings, each with its line."""
    some = [one for one in told.findings if one.severity in ("error", "warning")]
    if not some:
        return [Words("No error and no warning was found in the log, its sheets and its kits.")]
    some.sort(key=lambda one: (one.severity, one.file, one.line, one.column))
    rows = tuple(
        (
            Cell("✗ error", look="bad") if one.severity == "error" else Cell("△ warning", look="open"),
            Cell(one.message, note=one.help),
            Cell(one.slug),
            told.place(one.file, one.line),
        )
        for one in some
    )
    heads = heads_of("severity @; what …; finding; where @")
    return [Table("What is wrong, and what is in doubt", heads, rows)]


def signatures(told: Told) -> list[Part]:
    """Visits, signatures and whether they still hold, and the owner's hand."""
    by_line = {(held.sign.head.file, held.line): held for held in told.site.signature_checks}

    def own(name: str, row: Row) -> Cell | None:
        return holds(told, by_line[str(row["file"]), int(str(row["line"]))]) if name == "holds" else None

    received = tuple(
        (Cell(one.record.full_name or "no name"), Cell(one.record.who), told.of(one))
        for one in told.log.entries
        if isinstance(one.record, Received) and (one.file, one.entry.number) not in told.log.struck.lines
    )
    visits = told.table(
        "visits",
        told.rows("visits"),
        "Visits",
        "purpose visit; opened begun; closed signed on; signed_by signed by",
    )
    signed = told.table(
        "signatures",
        told.rows("signatures"),
        "Signatures, and whether what stands above them is still what was signed",
        "who; purpose for; day; time; holds still holds; because; line where",
        own,
    )
    taken = [Table("Received by", heads_of("name; as; where"), received)] if received else []
    nobody = [] if signed else [Words("Nobody has signed.", "open")]
    return [*visits, *signed, *nobody, *taken]


def holds(told: Told, held: SignatureCheck) -> Cell:
    """Whether a signature holds, in a shape and words."""
    if held.holds is None:
        return Cell(
            "– no digest", look="quiet", note="nothing tells whether the lines above were changed since"
        )
    if not held.holds:
        if held.file:
            return Cell("✗ changed since", look="bad", note=f"{held.file} is not the file it was")
        file = held.sign.head.file
        first = f"first in {told.where(file, held.changed)}" if held.changed else "where, can't be told"
        return Cell("✗ changed since", told.link(file, held.changed) if held.changed else "", "bad", first)
    if not held.used:
        what = "lines were added to the kits since" if held.added else "the sheets or kits were changed since"
        return Cell("△ holds, by other sheets", look="open", note=what)
    if held.sign.digest.startswith(OLD_DIGEST):
        note = "no line above it was changed; its own line, photos and trials are not covered"
        return Cell("✓ holds", look="good", note=note)
    return Cell("✓ holds", look="good", note="neither it nor a line above it nor a file named was changed")

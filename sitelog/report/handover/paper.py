"""What is open, what is wrong, and who signed for it."""

from __future__ import annotations

from itertools import groupby

from sitelog.files.signatures import SignatureCheck
from sitelog.language.kinds.paper import OLD_DIGEST, Received
from sitelog.report.handover.cover import gap_cell
from sitelog.report.handover.document import Cell, Items, PageTable, Part, Words, heads_of
from sitelog.report.handover.handover_site import HandoverSite, NamedRow
from sitelog.views.findings import READY


def still_open(handover_site: HandoverSite) -> list[Part]:
    """Everything that is still to do, by stage, in the order of the work."""
    if not handover_site.log.sheets:
        return [Words("No sheet is in reach, so nothing tells what is open.", "open")]
    if not handover_site.site.gaps:
        return [Words(f"{READY.capitalize()}: {handover_site.sheets}.")]
    waits = {stage.name: stage.blocked_by for stage in handover_site.site.stages}
    parts: list[Part] = []
    for stage, gaps in groupby(handover_site.site.gaps, key=lambda gap: gap.stage):
        first = ", ".join(waits.get(stage, ()))
        name = f"{stage or 'asked by the sheets'}{f' (waits for {first})' if first else ''}"
        parts.append(Items(tuple(gap_cell(handover_site, gap) for gap in gaps), name))
    return parts


def findings(handover_site: HandoverSite) -> list[Part]:
    """Errors and warnings, each with its line."""
    some = [one for one in handover_site.findings if one.severity in ("error", "warning")]
    if not some:
        return [Words("No error and no warning was found in the log, its sheets and its kits.")]
    some.sort(key=lambda one: (one.severity, one.file, one.line, one.column))
    rows = tuple(
        (
            Cell("✗ error", look="bad") if one.severity == "error" else Cell("△ warning", look="open"),
            Cell(one.message, note=one.help),
            Cell(one.slug),
            handover_site.place(one.file, one.line),
        )
        for one in some
    )
    heads = heads_of("severity @; what …; finding; where @")
    return [PageTable("What is wrong, and what is in doubt", heads, rows)]


def signatures(handover_site: HandoverSite) -> list[Part]:
    """Visits, signatures and whether they still hold, and the owner's hand."""
    by_line = {(held.sign.head.file, held.line): held for held in handover_site.site.signature_checks}

    def own(name: str, row: NamedRow) -> Cell | None:
        return (
            holds(handover_site, by_line[str(row["file"]), int(str(row["line"]))])
            if name == "holds"
            else None
        )

    received = tuple(
        (Cell(one.record.full_name or "no name"), Cell(one.record.who), handover_site.of(one))
        for one in handover_site.log.entries
        if isinstance(one.record, Received)
        and (one.file, one.entry.number) not in handover_site.log.struck.lines
    )
    visits = handover_site.table(
        "visits",
        handover_site.rows("visits"),
        "Visits",
        "purpose visit; opened begun; closed signed on; signed_by signed by",
    )
    signed = handover_site.table(
        "signatures",
        handover_site.rows("signatures"),
        "Signatures, and whether what stands above them is still what was signed",
        "who; purpose for; day; time; holds still holds; because; line where",
        own,
    )
    taken = [PageTable("Received by", heads_of("name; as; where"), received)] if received else []
    nobody = [] if signed else [Words("Nobody has signed.", "open")]
    return [*visits, *signed, *nobody, *taken]


def holds(handover_site: HandoverSite, held: SignatureCheck) -> Cell:
    """Whether a signature holds, in a shape and words."""
    if held.holds is None:
        return Cell(
            "– no digest", look="quiet", note="nothing tells whether the lines above were changed since"
        )
    if not held.holds:
        if held.file:
            return Cell("✗ changed since", look="bad", note=f"{held.file} is not the file it was")
        file = held.sign.head.file
        first = (
            f"first in {handover_site.where(file, held.changed)}" if held.changed else "where, can't be told"
        )
        return Cell(
            "✗ changed since", handover_site.link(file, held.changed) if held.changed else "", "bad", first
        )
    if not held.used:
        what = "lines were added to the kits since" if held.added else "the sheets or kits were changed since"
        return Cell("△ holds, by other sheets", look="open", note=what)
    if held.sign.digest.startswith(OLD_DIGEST):
        note = "no line above it was changed; its own line, photos and trials are not covered"
        return Cell("✓ holds", look="good", note=note)
    return Cell("✓ holds", look="good", note="neither it nor a line above it nor a file named was changed")

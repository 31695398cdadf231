"""The first page: what was installed, where and by whom, how far it is, what is open, what to do."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from sitelog.judging.completeness import COMPLETE, RESERVED, TAKEN_DOWN, state_of
from sitelog.judging.judged import Gap, Site
from sitelog.language.kinds.header import Site as NamedSite
from sitelog.notation.places import compress
from sitelog.report.handover.document import Cell, Cover
from sitelog.report.handover.handover_site import HandoverSite
from sitelog.views.findings import CAUTION

ROOM = 8
"""So many open things have room on the first page; the others stand on the next."""

_WORDS = {
    COMPLETE: ("✓", "Complete by its sheets", "good"),
    RESERVED: ("△", "Complete with reservations", "open"),
    TAKEN_DOWN: ("–", "Taken down", "quiet"),
}
_NOT = ("✗", "Not complete", "bad")


def cover(handover_site: HandoverSite) -> Cover:
    """The first page of a site."""
    site, state = handover_site.site, state_of(handover_site.site)
    shape, word, look = words_of(site)
    gaps = sorted(site.gaps, key=_gravest)
    return Cover(
        site=site.name,
        title=title_of(handover_site),
        judged=site.today.isoformat(),
        shape=shape,
        word=word,
        look=look,
        meaning=_meaning(handover_site, state),
        what=_what(handover_site),
        where=_where(handover_site),
        who=_shortened(
            [_person(handover_site, name) for name in handover_site.log.crew], ROOM // 2, "the log names them"
        ),
        when=_when(handover_site),
        open=(*_errors(handover_site), *(gap_cell(handover_site, gap) for gap in gaps[:ROOM])),
        more=max(0, len(gaps) - ROOM),
        todo=_todo(handover_site, state),
        call=_call(handover_site),
        cautions=(*_of_sheets(handover_site), CAUTION),
    )


def words_of(site: Site) -> tuple[str, str, str]:
    """How far a site is: a shape, words, and the look of both."""
    return _WORDS.get(state_of(site), _NOT)


def title_of(handover_site: HandoverSite) -> str:
    """What the log calls the site in words."""
    records = (one.record for one in handover_site.log.entries)
    return next((one.title for one in records if isinstance(one, NamedSite)), "")


def _errors(handover_site: HandoverSite) -> tuple[Cell, ...]:
    number = handover_site.site.summary.errors
    words = f"✗ {count(number, 'error')} in the log, its sheets or its kits"
    return (Cell(words, "#findings", "bad", "each is told below"),) if number else ()


def gap_cell(handover_site: HandoverSite, gap: Gap) -> Cell:
    """Something still to do, with its mark: what is wrong, what is in doubt, what is not there."""
    shape, look = {"error": ("✗", "bad"), "warning": ("△", "open")}.get(gap.severity, ("○", "open"))
    note = f"caution: {gap.caution}" if gap.caution else ""
    return Cell(f"{shape} {gap.text}", handover_site.link(gap.file, gap.line), look, note)


def _gravest(gap: Gap) -> int:
    return {"error": 0, "warning": 1}.get(gap.severity, 2)


def count(number: int, one: str, many: str = "") -> str:
    """`1 defect`, `2 defects`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def _meaning(handover_site: HandoverSite, state: str) -> str:
    site, summary = handover_site.site, handover_site.site.summary
    sheets = handover_site.sheets or "no sheet"
    if not summary.sheets:
        return "The log names no sheet that is in reach, so nothing tells what should have been done."
    if state == TAKEN_DOWN:
        return f"Every part is gone and the removal is signed ({sheets})."
    if state == COMPLETE:
        unproved = sum(check.holds is None for check in site.signature_checks)
        signed = "every visit is signed"
        if unproved:
            many = count(unproved, "signature")
            signed += f"; nothing tells whether {many} without a digest still hold"
        return f"Nothing that the sheets ask is missing, and {signed} ({sheets})."
    parts = [
        count(summary.errors, "error") if summary.errors else "",
        count(len(site.gaps), "thing") + " still to do" if site.gaps else "",
        count(summary.warnings, "warning") if summary.warnings else "",
        "left half way" if site.away is not None else "",
        "not signed" if any(visit.signed is None for visit in site.log.visits) else "",
    ]
    return f"{', '.join(filter(None, parts)).capitalize()} ({sheets})."


# ---- what, where, who, when ----------------------------------------------------------------------------
def _what(handover_site: HandoverSite) -> tuple[Cell, ...]:
    with_parts = {one.sheet for one in handover_site.site.requirements if one.kind == "part"}
    cells = [
        Cell(f"{sheet.name} revision {sheet.revision}" if sheet.revision else sheet.name, note=sheet.title)
        for sheet in handover_site.log.sheets
        if sheet.name in with_parts or not with_parts
    ]
    parts = [row for row in handover_site.rows("parts") if row["serial"] and not row["until"]]
    cells += [
        Cell(f"{row['part']}: {row['serial']}", handover_site.link(row["file"], row["line"])) for row in parts
    ]
    return _shortened(cells, ROOM, "Parts and serials")


def _shortened(cells: Sequence[Cell], room: int, rest: str) -> tuple[Cell, ...]:
    """As many as the first page has room for, and how many there are besides."""
    more = len(cells) - room
    return (*cells[:room], Cell(f"and {more} more", note=rest)) if more > 0 else tuple(cells)


def _where(handover_site: HandoverSite) -> tuple[Cell, ...]:
    title = title_of(handover_site)
    return (Cell(title, note=handover_site.site.name),) if title else (Cell(handover_site.site.name),)


def _person(handover_site: HandoverSite, key: str) -> Cell:
    one = handover_site.log.crew[key]
    return Cell(f"{one.full_name or one.name}{f', {one.role}' if one.role else ''}")


def _when(handover_site: HandoverSite) -> tuple[Cell, ...]:
    cells: list[Cell] = []
    for row in handover_site.rows("visits"):
        signed = (
            f"signed by {row['signed_by']} on {row['closed'] or 'no day'}"
            if row["signed_by"]
            else "not signed"
        )
        cells.append(Cell(f"{row['purpose']} {row['opened'] or ''}".rstrip(), note=signed))
    return _shortened(cells[::-1], ROOM // 2, "Visits and signatures")


# ---- what to do ----------------------------------------------------------------------------------------
def _todo(handover_site: HandoverSite, state: str) -> tuple[Cell, ...]:
    cells = [
        Cell(f"✗ {line[0].upper()}{line[1:]}", look="bad") for line in handover_site.site.summary.headlines
    ]
    if state not in (COMPLETE, TAKEN_DOWN):
        cells.append(
            Cell("Have what is open finished by the crew or another licensed person, and entered in the log.")
        )
    again = [
        Cell(f"△ Due since {day}: {'; '.join(names)}", look="open")
        if day <= handover_site.site.today
        else Cell(f"Due again on {day}: {'; '.join(names)}")
        for day, names in sorted(due(handover_site).items())
    ]
    cells += _shortened(again, ROOM // 2, "days on which something is due again")
    if not handover_site.site.closed:
        cells.append(
            Cell(
                "Leave whatever is behind a cover to a licensed person; the maker's instructions say how to "
                "switch off, and what to do in an emergency."
            )
        )
    cells.append(
        Cell("Keep this page with the papers of the building; it ends with the log it was made from.")
    )
    return tuple(cells)


def due(handover_site: HandoverSite) -> dict[date, list[str]]:
    """What is due again, by its day: as few words as name it."""
    by_day: dict[date, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    if handover_site.site.closed:
        return {}
    for result in handover_site.site.results:
        day = handover_site.site.due.get(id(result))
        if day is not None:
            about = result.what or result.kind
            by_day[day][about].append(result.place)
    return {
        day: [f"{about} {compress(list(dict.fromkeys(places)))}".rstrip() for about, places in some.items()]
        for day, some in by_day.items()
    }


def _call(handover_site: HandoverSite) -> tuple[Cell, ...]:
    leads = [one for one in handover_site.log.crew.values() if one.role == "lead"]
    cells = [
        Cell(one.full_name or one.name, note="" if one.full_name else "the log gives no number")
        for one in leads or handover_site.log.crew.values()
    ]
    return _shortened(cells, ROOM // 2, "see the log")


def _of_sheets(handover_site: HandoverSite) -> list[str]:
    """The cautions of the sheets, each once; none where everything is gone."""
    if handover_site.site.closed:
        return []
    found: dict[str, list[str]] = defaultdict(list)
    for one in handover_site.site.requirements:
        if one.caution:
            found[one.caution].append(one.name)
    words = [f"{', '.join(dict.fromkeys(names))}: {caution}" for caution, names in found.items()]
    more = len(words) - ROOM
    return [*words[:ROOM], f"and {more} more, in the sheets"] if more > 0 else words

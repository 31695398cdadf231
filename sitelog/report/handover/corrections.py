"""What was put right: struck, replaced, taken out of the missing. Nothing of it is hidden."""

from __future__ import annotations

from collections.abc import Iterator

from sitelog.judging.site import LogEntry
from sitelog.judging.site.strikes import Struck, strike
from sitelog.language.kinds.paper import NotApplicable, Strike
from sitelog.report.handover.document import Cell, PageTable, Part, heads_of
from sitelog.report.handover.handover_site import HandoverSite, NamedRow, is_struck, shown_as, when

_HISTORIES = (
    ("joints", "place", "value"),
    ("readings", "points", "value"),
    ("holes", "place", "depth"),
    ("looks", "what", "value"),
    ("settings", "what", "value"),
    ("cables", "place", "size"),
    ("steps", "step", ""),
    ("series", "what", "trial"),
)


def corrections(handover_site: HandoverSite) -> list[Part]:
    """Everything struck, replaced by a newer value, or taken out."""
    return [*_struck(handover_site), *_replaced(handover_site), *_taken_out(handover_site)]


# ---- struck ----------------------------------------------------------------------------------------------
def _struck(handover_site: HandoverSite) -> list[Part]:
    rows = tuple(
        (
            Cell(" ".join(target.entry.text.split()), struck=True, note=note),
            handover_site.of(target),
            Cell(one.entry.remark or "no reason given"),
            Cell(one.context.by, note=_when(one)),
            handover_site.of(one),
        )
        for one, target, note in _strikes(handover_site)
    )
    heads = heads_of("struck: does not count …; stands in @; why …; struck by @; where @")
    return [PageTable("Struck entries", heads, rows)] if rows else []


def _strikes(handover_site: HandoverSite) -> Iterator[tuple[LogEntry, LogEntry, str]]:
    """Each strike with each entry that it struck, and which places of it where not all."""
    written = handover_site.log.entries
    strikes = [at for at, one in enumerate(written) if isinstance(one.record, Strike)]
    before = Struck(frozenset(), frozenset())
    for at in strikes:
        later = {other for other in strikes if other > at}
        now = strike([one for place, one in enumerate(written) if place not in later], [])
        for target in written:
            observations = [
                obs for obs in target.observations if obs.id in now.observations - before.observations
            ]
            is_whole = (target.file, target.entry.number) in now.lines - before.lines
            if observations or is_whole:
                names = ", ".join(dict.fromkeys(obs.place or obs.what for obs in observations))
                yield written[at], target, "" if is_whole or not names else f"of it {names}"
        before = now


def _when(one: LogEntry) -> str:
    moment = one.context.moment
    return f"{moment.day or ''} {moment.clock or ''}".strip()


# ---- replaced ---------------------------------------------------------------------------------------------
def _replaced(handover_site: HandoverSite) -> list[Part]:
    rows: list[tuple[Cell, ...]] = []
    for subject, place, value in _HISTORIES:
        history = handover_site.history(subject)
        for at, row in enumerate(history):
            if " replaced " not in str(row["states"]) or is_struck(row):
                continue
            newer = _newer(history[at + 1 :], row, place)
            rows.append(
                (
                    Cell(_about(subject, row, place)),
                    Cell(
                        shown_as(subject, value, row[value]) if value else "done",
                        note=str(row["reasons"] or ""),
                    ),
                    Cell(
                        shown_as(subject, value, newer[value])
                        if newer and value
                        else "done again"
                        if newer
                        else ""
                    ),
                    Cell(str(row["by"] or ""), note=when(row)),
                    Cell(str(row["remark"] or "")),
                    handover_site.place(row["file"], row["line"]),
                    handover_site.place(newer["file"], newer["line"]) if newer else Cell(""),
                )
            )
    heads = heads_of("what; was …; newer; by @; remark …; where @; newer in @")
    return (
        [PageTable("Done again: the newest counts, the older one stays as history", heads, tuple(rows))]
        if rows
        else []
    )


def _newer(rows: list[NamedRow], row: NamedRow, place: str) -> NamedRow | None:
    """What stands in its place now: the last time that the same was written, and done in full."""
    key = str(row[place]).casefold(), row.get("what"), row.get("at")
    later = [
        other
        for other in rows
        if (str(other[place]).casefold(), other.get("what"), other.get("at")) == key and not is_struck(other)
    ]
    full = [one for one in later if one["verdict"] not in ("pre-only", "reopened", "not-tested")]
    some = full or later
    return some[-1] if some else None


def _about(subject: str, row: NamedRow, place: str) -> str:
    what = row.get("what")
    words = [subject.removesuffix("s") if subject != "series" else "trial"]
    words = words if subject not in ("readings",) else []
    return " ".join(
        str(one) for one in (*words, what if place != "what" else None, row[place], row.get("at")) if one
    )


# ---- taken out ---------------------------------------------------------------------------------------------
def _taken_out(handover_site: HandoverSite) -> list[Part]:
    rows = tuple(
        (
            Cell(", ".join(place.name for place in one.record.places)),
            Cell(one.entry.remark or "no reason given"),
            Cell(one.context.by, note=_when(one)),
            handover_site.of(one),
        )
        for one in handover_site.log.entries
        if isinstance(one.record, NotApplicable)
        and (one.file, one.entry.number) not in handover_site.log.struck.lines
    )
    heads = heads_of("what; why …; by @; where @")
    return [PageTable("Taken out of what is asked: neither missing nor passed", heads, rows)] if rows else []

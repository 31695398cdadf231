"""Electrical tests: each sort against its limits, its trend over the visits, and how far cells lie apart."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from sitelog.judging.results import Result
from sitelog.notation.quantities import Quantity
from sitelog.report.handover.document import Figures, Part, Picture, SpreadPicture, Strips, Trend
from sitelog.report.handover.handover_site import HandoverSite, NamedRow, is_struck, quantity
from sitelog.report.handover.points import in_unit, point, unit_of

_COLUMNS = (
    "points between; value; answer; at; verdict; displayed shown by; low at least; high at most; "
    "margin; probability; source source of the limit; with tool; done by; "
    "remark; line where"
)
_Pair = tuple[NamedRow, Result]


def readings(handover_site: HandoverSite) -> list[Part]:
    """The readings of a site, a table and a picture for each sort."""
    by_sort: dict[str, list[_Pair]] = defaultdict(list)
    for row, result in handover_site.readings():
        if result.kind != "spread":
            by_sort[str(row["what"])].append((row, result))
    parts: list[Part] = []
    history = handover_site.history("readings")
    for sort, pairs in by_sort.items():
        pictures: list[Picture] = []
        if (strips := _strips(handover_site, sort, pairs)) is not None:
            pictures.append(strips)
        written = [row for row in history if row["what"] == sort]
        if sort != "dead" and (trend := _trend(handover_site, sort, pairs, written)) is not None:
            pictures.append(trend)
        parts += [Figures(tuple(pictures))] if pictures else []
        parts += handover_site.table("readings", [row for row, _ in pairs], f"Read: {sort}", _COLUMNS)
        if len(written) > len([row for row, _ in pairs if row["value"] is not None or row["answer"]]):
            parts += handover_site.table(
                "readings",
                written,
                f"Every time it was read: {sort}",
                "points between; value; verdict worth; previous before; at; corrected at 20 °C; with tool; "
                "done by; remark; line where",
            )
    return parts


def _label(row: NamedRow) -> str:
    at = row["condition"] or row["at"]
    return f"{row['points'] or row['what']}{f' at {at}' if at else ''}"


def _strips(handover_site: HandoverSite, sort: str, pairs: list[_Pair]) -> Strips | None:
    """What stands now at each place that has a limit; a single value needs no picture."""
    limited = [pair for pair in pairs if pair[1].limits.low is not None or pair[1].limits.high is not None]
    judged = list({_label(row): (row, result) for row, result in limited}.values())
    unit = unit_of(result.limits.low or result.limits.high for _, result in judged)
    values = [result.observation.value for _, result in judged if result.observation is not None]
    if not unit or len(judged) < 2 or not any(in_unit(value, unit) is not None for value in values):
        return None
    same = {row["condition"] or row["at"] for row, _ in judged}
    points = tuple(
        point(
            result,
            str(row["points"] or sort) if len(same) == 1 else _label(row),
            unit,
            handover_site.link(row["file"], row["line"]),
        )
        for row, result in judged
    )
    at = f" at {same.pop()}" if len(same) == 1 and None not in same else ""
    log = sort == "insulation" and all(not one.value <= 0 for one in points)
    scale = ", on a scale of decades" if log else ""
    return Strips(f"{sort}{at} against its limits{scale}", f"{sort}{at}", points, unit, log)


def _trend(
    handover_site: HandoverSite, sort: str, pairs: list[_Pair], written: list[NamedRow]
) -> Trend | None:
    """What was read on several days at one place."""
    lines: dict[str, list[tuple[date, Quantity]]] = defaultdict(list)
    for row in written:
        value = quantity(row["value"])
        if value is not None and row["day"] and not is_struck(row):
            lines[_label(row)].append((date.fromisoformat(str(row["day"])), value))
    often = {label: some for label, some in lines.items() if len({day for day, _ in some}) > 1}
    limits = {(result.limits.low, result.limits.high) for row, result in pairs if _label(row) in often}
    low, high = limits.pop() if len(limits) == 1 else (None, None)
    unit = unit_of((low, high, *(value for some in often.values() for _, value in some)))
    drawn = tuple(
        (
            label,
            tuple(
                (day, number, value.bound)
                for day, value in some
                if (number := in_unit(value, unit)) is not None
            ),
        )
        for label, some in often.items()
    )
    if not drawn or not unit:
        return None
    return Trend(
        f"{sort} over the visits",
        f"{sort} over the visits",
        drawn,
        unit,
        in_unit(low, unit),
        in_unit(high, unit),
        sort == "insulation",
    )


def spreads(handover_site: HandoverSite) -> list[Part]:
    """How far cells or modules lie apart, with the newest reading of each."""
    parts: list[Part] = []
    pairs = [pair for pair in handover_site.readings() if pair[1].kind == "spread"]
    newest: dict[tuple[str, str], _Pair] = {}
    for row, result in handover_site.readings():
        if result.kind == "reading":
            newest[str(row["what"]).casefold(), result.place.casefold()] = row, result
    for _, result in pairs:
        some = [newest.get((result.what.casefold(), place.casefold())) for place in result.place.split()]
        known = [one for one in some if one is not None and one[1].observation is not None]
        unit = unit_of(one[1].observation.value for one in known if one[1].observation is not None)
        points = tuple(
            point(other, other.place, unit, handover_site.link(row["file"], row["line"]))._replace(verdict="")
            for row, other in known
        )
        if unit and points:
            allowed = in_unit(result.limits.high, unit)
            name = f"{result.what} of {other_names(result)}"
            parts.append(Figures((SpreadPicture(f"{name}, side by side", name, points, unit, allowed),)))
    parts += handover_site.table(
        "readings",
        [row for row, _ in pairs],
        "Spread: the largest less the smallest of the newest readings",
        "points of; value spread; verdict; high at most; source source of the limit; with tool; line where",
    )
    return parts


def other_names(result: Result) -> str:
    """The places of a spread in short."""
    from sitelog.notation.places import compress

    return compress(result.place.split())

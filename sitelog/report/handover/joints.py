"""Joints: a map by the lines that ask for them, each value against its limits, and how it came to it."""

from __future__ import annotations

from collections import Counter

from sitelog.judging.results import Result
from sitelog.notation.places import compress
from sitelog.report.handover.document import Cell, Figures, Group, Part, Strips, Tile, Tiles
from sitelog.report.handover.handover_site import HandoverSite, NamedRow, marked, shown_as
from sitelog.report.handover.points import point, unit_of

_Group = list[tuple[NamedRow, Result]]


def joints(handover_site: HandoverSite) -> list[Part]:
    """The joints of a site."""
    groups = _groups(handover_site)
    if not groups:
        return []
    tiles = Tiles(
        "Every joint at its place, by what is asked of it",
        tuple(_tiles(handover_site, one) for one in groups),
    )
    strips = [_strip(handover_site, one) for one in groups]
    drawn = tuple(one for one in strips if one is not None)
    return [
        tiles,
        *([Figures(drawn)] if drawn else []),
        *handover_site.table(
            "joints",
            handover_site.rows("joints"),
            "Joints beside their limits",
            "place joint; value torque; verdict; low at least; high at most; margin; probability; "
            "source source of the limit; with tool; done by; line where",
        ),
        *_tightenings(handover_site),
    ]


def _groups(handover_site: HandoverSite) -> list[_Group]:
    """The joints of each line of a sheet; of one that is asked in several visits the newest."""
    found: dict[object, dict[str, tuple[NamedRow, Result]]] = {}
    for row, result in handover_site.joints():
        asked = result.requirement
        key = (asked.file, asked.line) if asked is not None else None
        found.setdefault(key, {})[result.place.casefold()] = row, result
    return [list(places.values()) for places in found.values()]


def _name(group: _Group) -> str:
    return compress([result.place for _, result in group])


def _tiles(handover_site: HandoverSite, group: _Group) -> Group:
    _, first = group[0]
    asked = ""
    if first.requirement is not None:
        size = " ".join(
            filter(
                None, (first.requirement.size, first.requirement.grade and f"class {first.requirement.grade}")
            )
        )
        asked = ", ".join(filter(None, (size, first.limits.text, first.requirement.source)))
    return Group(
        _name(group),
        asked or "asked by no sheet",
        tuple(
            Tile(
                result.place,
                shown_as("joints", "value", row["value"]) or "—",
                marked(result.verdict),
                handover_site.link(row["file"], row["line"]),
            )
            for row, result in group
        ),
    )


def _strip(handover_site: HandoverSite, group: _Group) -> Strips | None:
    values = [result.observation.value for _, result in group if result.observation is not None]
    unit = unit_of(values)
    if not unit:
        return None
    points = tuple(
        point(result, result.place, unit, handover_site.link(row["file"], row["line"]))
        for row, result in group
    )
    name = _name(group)
    return Strips(f"{name}: torque against its limits", f"torque of {name}", points, unit)


def _tightenings(handover_site: HandoverSite) -> list[Part]:
    """Joints that were tightened more than once, loosed, struck or only pre-tightened: every time."""
    rows = handover_site.rows("torques")
    often = Counter(str(row["place"]).casefold() for row in rows)
    trail = [
        row
        for row in rows
        if often[str(row["place"]).casefold()] > 1 or row["mode"] not in ("final", "click")
    ]
    order = {name: at for at, name in enumerate(dict.fromkeys(str(row["place"]) for row in rows))}
    trail.sort(key=lambda row: order[str(row["place"])])

    def own(name: str, row: NamedRow) -> Cell | None:
        return Cell(str(row["mode"] or "")) if name == "mode" else None

    return handover_site.table(
        "torques",
        trail,
        "Joints that were handled more than once, every time in order",
        "place joint; value torque; mode how; verdict worth; previous before; with tool; done by; remark; "
        "line where",
        own,
    )

"""What a tool's error, or a recalled serial, touches on every site."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from sitelog.base.verdicts import worst
from sitelog.files.records import Kit
from sitelog.judging.judged import Site
from sitelog.judging.limits import against
from sitelog.judging.site import Observation
from sitelog.judging.tools import instrument_of
from sitelog.judging.values import resolve
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Limits, Requirement
from sitelog.language.kinds.tool import Calibration, Point, Tool
from sitelog.notation.lookalikes import plain_value
from sitelog.notation.quantities import Quantity
from sitelog.notation.quantities.numerals import rounded
from sitelog.physics.uncertainty import standard_uncertainty


class Touched(NamedTuple):
    """One result that a tool made, as it was judged and as it is with the tool's error taken out."""

    site: str
    kind: str
    what: str
    place: str
    day: date | None
    by: str
    written: Quantity
    corrected: Quantity
    limits: Limits
    before: str
    after: str
    stands: bool  # whether it is the value that counts today
    file: str
    line: int

    @property
    def flips(self) -> bool:
        """Whether the verdict on the value is another one."""
        return self.before != self.after


class IndicationError(NamedTuple):
    """A tool's error of indication (shown less true, over true) over what it showed, in base units.

    `points` are (shown, error), in order; `uncertainty` is the calibration's, as a share (k = 2), or None
    where no U is stated: then the tool's own limits stand for it.
    """

    points: tuple[tuple[float, float], ...]
    uncertainty: float | None
    since: date | None
    until: date | None

    def at(self, shown: float) -> float:
        """The error where the tool showed a value: between points on a line, beyond them as at the last."""
        points = self.points
        if shown <= points[0][0]:
            return points[0][1]
        for (x0, y0), (x1, y1) in pairwise(points):
            if shown <= x1:
                return y0 + (y1 - y0) * (shown - x0) / (x1 - x0)
        return points[-1][1]


# ---- tools -----------------------------------------------------------------------------------------------
def find_tool(kits: Iterable[Kit], name: str) -> list[tuple[Tool, tuple[Calibration, ...]]]:
    """Every tool of that name, with its calibrations."""
    key = name.casefold()
    return [(kit.tools[key], kit.calibrations.get(key, ())) for kit in kits if key in kit.tools]


def found_error(calibrations: Sequence[Calibration]) -> IndicationError | None:
    """The error that the newest calibration with found values gives to every use since the one before."""
    for at in range(len(calibrations) - 1, -1, -1):
        newest = calibrations[at]
        if points := _points(newest.found):
            since = calibrations[at - 1].day if at else None
            return IndicationError(points, newest.uncertainty, since, newest.day)
    return None


def _points(found: Sequence[Point]) -> tuple[tuple[float, float], ...]:
    points: list[tuple[float, float]] = []
    for point in found:
        if point.error is not None:
            points.append((0.0, point.error))
        elif point.true is not None and point.shown is not None:
            true, shown = float(point.true.base), float(point.shown.base)
            points.append((shown, (shown - true) / true))
    return tuple(sorted(points))


def touched(sites: Iterable[Site], tool: Tool, error: IndicationError) -> Iterator[Touched]:
    """Every live value that the tool measured in the time that the error holds for, judged again.

    It goes by all that is known now, later calibrations too: that is what a trace is for. A setting is no
    measurement, and a value is held against the limits for its own condition only.
    """
    for site in sites:
        current = {result.observation.id for result in site.results if result.observation is not None}
        asked: dict[object, list[Requirement]] = defaultdict(list)
        for requirement in site.requirements:
            asked[site.case.names.asked(requirement)].append(requirement)
        for obs in site.observations:
            if obs.value is None or not row_of(obs.kind).measures or not (obs.live or obs.mode == "held"):
                continue
            if not _within(obs.moment.day, error.since, error.until):
                continue
            wanted = _asking(asked.get(site.case.evidence.key(obs), ()), obs)
            used = instrument_of(obs, site.box, wanted).tool
            if used is not None and (used.name, used.kit) == (tool.name, tool.kit):
                yield _again(site, obs, wanted, error)._replace(stands=obs.id in current)


def _asking(asked: Sequence[Requirement], obs: Observation) -> Requirement | None:
    """The requirement whose condition a value was measured under; None where none is.

    Of several requirements only the one of the same condition is meant. A value without any condition is
    held against the only limits there are.
    """
    key = obs.condition_key
    same = [one for one in asked if (one.condition.key if one.condition is not None else "") == key]
    if same:
        return same[0]
    keys = {condition.key for condition in obs.conditions}
    part = [one for one in asked if one.condition is not None and one.condition.key in keys]
    if part:
        return part[0]
    return asked[0] if len(asked) == 1 and (asked[0].condition is None or not keys) else None


def _within(day: date | None, since: date | None, until: date | None) -> bool:
    return day is None or ((since is None or day >= since) and (until is None or day <= until))


def _again(site: Site, obs: Observation, requirement: Requirement | None, error: IndicationError) -> Touched:
    """A value judged as it was, and with the tool's error taken out; whether it stands is left open."""
    assert obs.value is not None
    written = obs.value
    share = error.at(float(written.base))
    # Exact in the written unit, so that it can be read beside the value; one digit more than written.
    number = written.number / (1 + Decimal(repr(share)))
    digits = max(len(written.number.as_tuple().digits) + 1, 3)
    corrected = written._replace(
        number=rounded(number, digits), base=written.base / (1 + Decimal(repr(share))), text=""
    )
    limits, _ = resolve(requirement.limits, site.case.device) if requirement is not None else (Limits(), None)
    guard = site.case.guard(requirement)
    used = instrument_of(obs, site.box, requirement)
    # With the error taken out, only the uncertainty of the calibration is left; unknown, the tool's limits.
    u = used.u
    if error.uncertainty is not None:
        u = standard_uncertainty(0.0, error.uncertainty * abs(float(corrected.base)))
    before = after = "no-limit"
    if requirement is not None and limits.kind:
        before = worst(against(requirement.kind, written, limits, used.u, guard).reasons)
        after = worst(against(requirement.kind, corrected, limits, u, guard).reasons)
    return Touched(
        site.name,
        obs.kind,
        obs.what,
        obs.place,
        obs.moment.day,
        obs.by,
        written,
        corrected,
        limits,
        before,
        after,
        False,
        obs.file,
        obs.line,
    )


# ---- serials -------------------------------------------------------------------------------------
class Whereabouts(NamedTuple):
    """The time of one serial at one place; `until` is None where it is there now."""

    serial: str
    site: str
    place: str
    since: date | None
    until: date | None
    went_to: str
    file: str
    line: int


class SerialRange(NamedTuple):
    """Serials from one to another: the same text in front, the number behind it in between."""

    front: str
    low: int
    high: int
    digits: int

    def holds(self, serial: str) -> bool:
        """Whether a serial lies in the range."""
        found = _SERIAL.fullmatch(serial.casefold())
        return (
            found is not None
            and found[1] == self.front
            and len(found[2]) == self.digits
            and self.low <= int(found[2]) <= self.high
        )


_SERIAL = re.compile(r"(.*?)(\d*)", re.DOTALL)


def serial_range(text: str) -> SerialRange | str:
    """`A..B` or one serial; a sentence where it can't be meant."""
    low, dots, high = text.casefold().partition("..")
    first, last = _SERIAL.fullmatch(low), _SERIAL.fullmatch(high if dots else low)
    if first is None or last is None or not low:
        return f"`{text}` is no serial and no range of serials"
    if dots and not last[1] and len(last[2]) <= len(first[2]):  # A0400..50 means A0400..A0450
        last = _SERIAL.fullmatch(first[1] + first[2][: len(first[2]) - len(last[2])] + last[2])
        assert last is not None
    if first[1] != last[1] or len(first[2]) != len(last[2]):
        return f"`{text}`: both ends must be alike but for the number at their end"
    if not first[2]:
        return SerialRange(first[1], 0, 0, 0) if not dots else f"`{text}`: the ends have no number"
    if int(first[2]) > int(last[2]):
        return f"`{text}` runs backwards"
    return SerialRange(first[1], int(first[2]), int(last[2]), len(first[2]))


def _matches(wanted: SerialRange, serial: str) -> bool:
    return serial.casefold() == wanted.front if not wanted.digits else wanted.holds(serial)


def whereabouts(sites: Iterable[Site], wanted: SerialRange) -> list[Whereabouts]:
    """Where the serials are and were, on every site; those that are there now first."""
    found: list[Whereabouts] = []
    for site in sites:
        for placement in site.placements:
            if _matches(wanted, placement.serial):
                until = placement.until
                found.append(
                    Whereabouts(
                        placement.serial,
                        site.name,
                        placement.place,
                        placement.since.moment.day,
                        until.moment.day if until is not None else None,
                        placement.moved_to
                        or ("swapped out" if until is not None and until.mode == "swap" else ""),
                        placement.since.file,
                        placement.since.line,
                    )
                )
    return sorted(found, key=_present_first)


def _present_first(where: Whereabouts) -> tuple[bool, str, str, date]:
    return where.until is not None, where.serial, where.site, where.since or date.min


def percent(text: str) -> float | str:
    """An error such as `+6 %` as a share; a sentence where it is none."""
    found = re.fullmatch(r"\s*([+-]?\d{1,3}(?:[.,]\d+)?)\s*%?\s*", plain_value(text))
    if found is None:
        return f"`{text}` is no error in per cent; write +6 % where the tool showed 6 % too much"
    share = float(found[1].replace(",", ".")) / 100
    return share if share > -1 else f"`{text}`: no tool shows that little"

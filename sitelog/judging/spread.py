"""Spreads: how far the newest readings at some places lie apart."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from math import hypot

from sitelog.base.verdicts import NOT_APPLICABLE, Reason, by_rank, worst
from sitelog.judging.case import Case
from sitelog.judging.evidence import Key
from sitelog.judging.limits import against
from sitelog.judging.results import Result
from sitelog.judging.site import Observation, VisitPeriod
from sitelog.judging.tools import instrument_of
from sitelog.language.kinds.requirement import Requirement
from sitelog.notation.quantities import Quantity, format_quantity


def judge_spread(case: Case, requirement: Requirement, visit: VisitPeriod) -> Result:
    """The largest less the smallest of the newest readings at the places named.

    It needs a reading of the part that sits at each place now: a part that left takes its readings along.
    """
    places = requirement.place.split()
    newest: list[Observation] = []
    lacking: list[str] = []
    for place in places:
        key = Key("reading", requirement.what.casefold(), case.names.place(place))
        readings = case.of_same_part(case.evidence.of(key), place)
        observations = [obs for obs in readings if obs.live and obs.value is not None]
        if observations:
            newest.append(observations[-1])
        else:
            lacking.append(place)
    about = f"spread of {requirement.what} {_between(places)}"
    what, place, limits = requirement.what, requirement.place, requirement.limits
    if lacking:
        reason = Reason("missing", "missing", f"missing: {about}; not read: {', '.join(lacking)}")
        if case.closed:
            reason = Reason(NOT_APPLICABLE, "", "everything was removed")
        reasons_ = by_rank([reason], place)
        return Result(
            "spread", what, place, visit.index, reason.verdict, reasons_, requirement, limits=limits
        )
    values = [obs.value for obs in newest if obs.value is not None]
    largest, smallest = max(values, key=lambda q: q.base), min(values, key=lambda q: q.base)
    apart = largest.base - smallest.base
    unit = limits.high or limits.low
    q = Quantity(apart, "", largest.kind, apart)
    if unit is not None:
        factor = unit.base / unit.number if unit.number else Decimal(1)
        q = Quantity((apart / factor).normalize(), unit.unit, largest.kind, apart)
    # Values known only to lie beyond the largest or the smallest make the spread at least that wide.
    bounded = [value for value in values if value.bound]
    q = q._replace(bound=">" if bounded else "")
    guard = case.guard(requirement)
    found = against("spread", q, limits, _uncertainty(case, newest, largest, smallest), guard, about)
    reasons = list(found.reasons)
    if any(value is not (largest if value.bound == ">" else smallest) for value in bounded):
        message = f"{about} is open: {format_quantity(bounded[0])} is no single value"
        reasons = [Reason("doubtful", "doubtful", message, "measure again on a range that shows the value")]
    last = max(newest, key=lambda obs: obs.moment.order)
    reasons += _tools(case, requirement, newest)
    reasons += _before(case, requirement, places)
    verdict, ranked = worst(reasons), by_rank(reasons, place)
    return Result(
        "spread",
        what,
        place,
        visit.index,
        verdict,
        ranked,
        requirement,
        last,
        limits,
        found.margin,
        value=q,
    )


def _uncertainty(
    case: Case, newest: Sequence[Observation], largest: Quantity, smallest: Quantity
) -> float | None:
    """The standard uncertainty of largest less smallest; None where that of either is unknown.

    u = √(u₁² + u₂²), as if the two readings had nothing in common: one tool's own error would cancel in
    part, so it is not too small. Source: JCGM 100:2008, 5.1.2.
    """
    ends = [next(obs for obs in newest if obs.value is end) for end in (largest, smallest)]
    first, second = (instrument_of(obs._replace(value=_unbounded(obs)), case.box).u for obs in ends)
    return hypot(first, second) if first is not None and second is not None else None


def _unbounded(obs: Observation) -> Quantity | None:
    return obs.value._replace(bound="") if obs.value is not None else None


def _tools(case: Case, requirement: Requirement, newest: Sequence[Observation]) -> list[Reason]:
    """Why the tools cannot be relied on for the readings; what the equipment showed itself needs none."""
    found = (instrument_of(obs, case.box, requirement).reasons for obs in newest)
    return list(dict.fromkeys(reason for reasons in found for reason in reasons))


def _before(case: Case, requirement: Requirement, places: Sequence[str]) -> list[Reason]:
    for name in requirement.before:
        for others in case.evidence.meant(name, requirement).values():
            firsts = [
                obs for other in others for obs in case.evidence.of(case.names.asked(other)) if obs.live
            ]
            first = min(firsts, key=lambda obs: obs.moment.order, default=None)
            if first is None:
                continue
            for place in places:
                key = Key("reading", requirement.what.casefold(), case.names.place(place))
                if not any(
                    obs.live and obs.moment.order < first.moment.order for obs in case.evidence.of(key)
                ):
                    message = f"{name} was done before {requirement.what} was read at {place}"
                    return [Reason("out-of-order", "out-of-order", message)]
    return []


def _between(places: Sequence[str]) -> str:
    return f"{places[0]} to {places[-1]}" if len(places) > 1 else "".join(places)

"""Bolted joints beyond their limits: what a torque does to the bolt, and what a re-torque check tells."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.base.verdicts import Reason
from sitelog.judging.rule import RuleContext, about
from sitelog.judging.site import Observation
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.kinds.torque import Torque
from sitelog.notation.quantities import format_quantity
from sitelog.physics.fasteners import strain, torque_left


def checked(one: Requirement, obs: Observation, around: RuleContext) -> list[Reason]:
    """What it means that a joint moved at its re-torque check: how much of its torque was gone at least."""
    if obs.mode != "moved" or obs.value is None:
        return []
    record = obs.record
    angle = record.moved if isinstance(record, Torque) else None
    by = f" {format_quantity(angle)}" if angle is not None else ""
    message = f"{about(one)} moved{by} at {format_quantity(obs.value)} in the re-torque check"
    before = around.previous(one, obs)
    if before is not None and before.value is not None and not before.value.bound:
        left = torque_left(float(before.value.base), float(obs.value.base))
        on = f" on {before.moment.day}" if before.moment.day is not None else ""
        message += f"; it was left at {format_quantity(before.value)}{on}"
        gone = f"at least {left * 100:.2g} %" if left > 0 else "some"
        message += f", so {gone} of that was gone"
    return [Reason("doubtful", "doubtful", message, "see why it had lost torque")]


def overstrained(one: Requirement, obs: Observation, reasons: Sequence[Reason]) -> list[Reason]:
    """Where no upper limit says so: a torque that stretches the bolt for good whatever the friction."""
    if obs.value is None or not one.size or obs.mode not in ("final", "click"):
        return []
    found = strain(float(obs.value.base), one.size, one.grade)
    if found is None or not found.certain or any(reason.verdict == "over" for reason in reasons):
        return []
    what = f"{one.size} of class {one.grade}" if one.grade else f"any {one.size}"
    torque = format_quantity(obs.value)
    message = f"{about(one)}: {torque} stretches {what} beyond its proof load, by T = K d F even with K 0.30"
    help = "was another unit meant? Else take the bolt out and see what the maker asks"
    return [Reason("doubtful", "torque-not-for-bolt", message, help)]

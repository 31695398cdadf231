"""Voltages and currents: danger has no sign, ac is not dc, and a dead line has a rule of its own."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache

from sitelog.base.verdicts import Reason
from sitelog.judging.limits import describe
from sitelog.judging.reliance import NOTHING, Instrument
from sitelog.judging.rule import about
from sitelog.judging.site import Observation
from sitelog.judging.tools import Toolbox, instrument_of
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.requirement import Limits, Requirement
from sitelog.notation.quantities import Quantity, format_quantity

EXTRA_LOW = {"ac": Decimal(50), "dc": Decimal(120)}
"""V, above which a voltage is no extra-low voltage: HD 60364-4-41, 414.1, and IEC 60449 (from memory)."""
_WITH_CURRENT = frozenset({"voltage", "current"})
_CURRENT = re.compile(r"(?:[VA][.-]?|\s)(ac|dc)\s*$", re.IGNORECASE)
_CURRENT_OF_LIMITS = re.compile(r"(?:[VA][.-]?|\s)(ac|dc)(?!\w)", re.IGNORECASE)
_FLIPPED = {">": "<", "<": ">"}


# ---- danger has no sign ------------------------------------------------------------------------------
def magnitude(q: Quantity) -> Quantity:
    """A value without its sign: swapped probes turn the sign and nothing else."""
    if q.base >= 0:
        return q
    return q._replace(number=-q.number, base=-q.base, bound=_FLIPPED.get(q.bound, ""))


def judged_value(requirement: Requirement, q: Quantity, limits: Limits) -> Quantity:
    """The value that is held against the limits.

    It is the magnitude for a test for dead, and wherever a voltage or a current has a limit from above
    alone. Between two limits, or from below, the sign is part of what is asked.
    """
    if q.kind not in _WITH_CURRENT or q.base >= 0:
        return q
    only_above = limits.low is None and limits.high is not None and limits.high.base >= 0
    return magnitude(q) if only_above or row_of(requirement.kind).symmetric else q


# ---- ac is not dc ------------------------------------------------------------------------------------
@lru_cache(maxsize=1024)
def _current_of_text(text: str) -> str:
    found = _CURRENT.search(text)
    return found[1].lower() if found else ""


@lru_cache(maxsize=1024)
def _current_of_limits(text: str) -> str:
    found = {word.lower() for word in _CURRENT_OF_LIMITS.findall(text)}
    return found.pop() if len(found) == 1 else ""


def current_of(obs: Observation) -> str:
    """`ac`, `dc`, or empty where the log says neither. A word behind the last value of a list is for all."""
    if obs.value is None:
        return ""
    own = _current_of_text(obs.value.text)
    if own or not isinstance(obs.record, Reading):
        return own
    said = [
        _current_of_text(value.quantity.text) for value in obs.record.values if value.quantity is not None
    ]
    return said[-1] if said and not any(said[:-1]) else ""


def current_reasons(requirement: Requirement, obs: Observation, limits: Limits) -> list[Reason]:
    """Limits that say ac or dc are served by a value of that current alone, and the log has to say so."""
    if limits.kind not in _WITH_CURRENT or obs.value is None or obs.value.kind != limits.kind:
        return []
    wanted = _current_of_limits(requirement.limits.text)
    if not wanted or (said := current_of(obs)) == wanted:
        return []
    written = f"{about(requirement)} {format_quantity(obs.value)}"
    if not said:
        message = f"{written} does not say whether it is {wanted}, which is asked"
        return [Reason("doubtful", "doubtful", message, f"write `{format_quantity(obs.value)} {wanted}`")]
    message = f"{written} is {said}, and {describe(limits)} {wanted} is asked"
    return [Reason("doubtful", "current-kind", message, f"set the instrument to {wanted} and measure again")]


# ---- a dead line has a rule of its own ---------------------------------------------------------------
def dead_reasons(obs: Observation, tool: Instrument, place: str = "") -> list[Reason]:
    """Why a `dead` line does not show that something is dead, whether or not a sheet asks it.

    Evidence: the magnitude is at most 50 V ac or 120 V dc, 50 V where the log says neither; a tester
    measured it; that tester was proved before and after.
    """
    record, value = obs.record, obs.value
    if not row_of(obs.kind).symmetric or not isinstance(record, Reading) or value is None:
        return []
    found: list[Reason] = []
    place = place or obs.place
    current = current_of(obs)
    most, size = EXTRA_LOW[current or "ac"], magnitude(value)
    if size.base > most or (size.bound == ">" and size.base == most):
        said = current or "where nothing says ac or dc"
        message = f"{place} {format_quantity(value)} is not dead: above {most} V {said}"
        help = "stop, switch off, lock and prove dead again"
        found.append(Reason("over", "over", message.replace("V where", "V, where"), help))
    elif size.bound == ">":
        message = f"{place} {format_quantity(value)} leaves open whether it is dead"
        found.append(Reason("doubtful", "doubtful", message, "measure again on a range that shows the value"))
    if record.displayed:
        message = f"{place}: what `{record.displayed}` shows is no test for dead"
        found.append(Reason("untraceable", "no-tool", message, "test with a two-pole tester: `with TESTER`"))
    elif not all(record.proved[1:]) and not any(reason.slug == "not-proved" for reason in tool.reasons):
        tester = tool.name or "the tester"
        message = f"{tester} was not proved before and after the test, so dead is not shown"
        help = "prove it on a proving unit and write `proved on UNIT before, after`"
        found.append(Reason("untraceable", "not-proved", message, help))
    return found


def unasked_reasons(obs: Observation, box: Toolbox) -> list[Reason]:
    """What is wrong with a `dead` line that no sheet asks."""
    if not row_of(obs.kind).symmetric or obs.value is None:
        return []
    displayed = isinstance(obs.record, Reading) and obs.record.displayed
    tool = NOTHING if displayed else instrument_of(obs, box)
    return [*dead_reasons(obs, tool), *tool.reasons]

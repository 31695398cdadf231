"""Values under other conditions than those asked: which of them still has a say."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sitelog.base.verdicts import Reason
from sitelog.judging.evidence import ConditionFit, Key, SheetRequirements, States, comparable_key, fit
from sitelog.judging.site import Observation
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.requirement import Requirement


def newer_failure(
    requirement: Requirement,
    stands: Observation,
    fits: Sequence[tuple[Observation, ConditionFit]],
    fails: Callable[[Observation], bool],
    by_sheets: SheetRequirements,
) -> tuple[Observation, ConditionFit] | None:
    """The newest value that fails and is newer than the one that stands, though made under other conditions.

    A bad value at another test voltage, or at none that is said, is no proof, but it is no silence either:
    the older good one does not count any more. A value that another line asks serves that line alone, and a
    device that does not trip at less than its rated current is as it should be.
    """
    seen: set[str] = set()
    for obs, how in reversed(fits):
        if obs.moment.order <= stands.moment.order:
            return None
        key = comparable_key(obs)
        if how.answer == "yes" or key in seen:
            continue
        seen.add(key)
        if _at_less_current(requirement, obs) or not fails(obs):
            continue
        if not _is_asked_elsewhere(requirement, obs, by_sheets):
            return obs, how
    return None


def _at_less_current(requirement: Requirement, obs: Observation) -> bool:
    wanted = requirement.condition
    return (
        wanted is not None
        and wanted.kind == "current"
        and wanted.base is not None
        and any(
            condition.kind == "current" and condition.base is not None and condition.base < wanted.base
            for condition in obs.conditions
        )
    )


def _is_asked_elsewhere(requirement: Requirement, obs: Observation, by_sheets: SheetRequirements) -> bool:
    about: Key = by_sheets.names.asked(requirement)
    return any(
        other is not requirement and key == about and other.condition is not None
        for other, key in by_sheets.keyed
        if fit(other, obs).answer == "yes"
    )


def stated_otherwise(requirement: Requirement, obs: Observation, states: States) -> list[Reason]:
    """What a line says of itself with `while`, where its sheet asks the opposite state."""
    record = obs.record
    if not requirement.states or not isinstance(record, Reading) or not record.state[0]:
        return []
    said, said_place = (word.casefold() for word in record.state)
    for state, place in requirement.states:
        if states.opposite(state.casefold()) == said and said_place in ("", place.casefold()):
            asked = f"{state} {place}".strip()
            message = f"{requirement.name} is asked while {asked}, and the line says while {said}"
            return [Reason("out-of-order", "out-of-order", message, "measure again in the state asked")]
    return []

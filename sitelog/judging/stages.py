"""Stages: which part of the work is complete, which is open, and what keeps it from going on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import NOT_APPLICABLE
from sitelog.judging.case import Case
from sitelog.judging.evidence import SheetRequirements, members
from sitelog.judging.results import Result
from sitelog.language.kinds.requirement import Requirement


class Stage(NamedTuple):
    """One stage of a site: how much of it is done, and the names of what has to come first and is open."""

    name: str
    asked: int
    open: int
    failing: int
    blocked_by: tuple[str, ...]

    @property
    def state(self) -> str:
        """`complete`, `blocked` or `open`."""
        return "complete" if not self.open else "blocked" if self.blocked_by else "open"


_Key = tuple[str, int, tuple[str, str, str, str]]


def key_of(asked: Requirement) -> _Key:
    """What tells one requirement of a site from every other."""
    return asked.sheet, asked.line, asked.key


def stage_names(by_sheets: SheetRequirements) -> Mapping[_Key, str]:
    """The stage of each requirement: that of its own sheet first, else of any sheet that names it."""
    found: dict[_Key, str] = {}
    for sheet in by_sheets.sheets:
        for stage, names in sheet.stages:
            for name in names:
                for others in members(name, sheet.requirements).values():
                    for requirement in others:
                        found.setdefault(key_of(requirement), stage)
    return found


def stages(case: Case, results: Sequence[Result]) -> list[Stage]:
    """The stages of a site in the order of its sheets; none where no sheet has any."""
    by_stage: dict[str, list[Result]] = {name: [] for sheet in case.sheets for name, _ in sheet.stages}
    if not by_stage:
        return []
    names = case.by_sheets.once(stage_names)
    for result in results:
        if result.requirement is not None and (stage := names.get(key_of(result.requirement))) is not None:
            by_stage[stage].append(result)
    by_key = {key_of(result.requirement): result for result in results if result.requirement is not None}
    found: list[Stage] = []
    for name, members_ in by_stage.items():
        open_ = [result for result in members_ if result.open]
        blocked = dict.fromkeys(word for result in open_ for word in _waits_for(case, result, by_key, names))
        counted = sum(result.verdict != NOT_APPLICABLE for result in members_)
        failing = sum(result.failing for result in open_)
        found.append(Stage(name, counted, len(open_), failing, tuple(blocked)))
    return found


def _waits_for(
    case: Case, result: Result, by_key: Mapping[_Key, Result], names: Mapping[_Key, str]
) -> list[str]:
    """The names behind `after` of something open that other stages still owe."""
    requirement = result.requirement
    if requirement is None or result.observation is not None:
        return []
    return [
        name
        for name in requirement.after
        for others in case.evidence.meant(name, requirement).values()
        if any(
            names.get(key_of(each)) != names.get(key_of(requirement))
            and (other := by_key.get(key_of(each))) is not None
            and other.open
            for each in others
        )
    ]

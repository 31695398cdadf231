"""Findings of tools: names that no kit knows, a standard's limits standing in, tools that can never fit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.judging.calibration import limits_of
from sitelog.judging.case import Case
from sitelog.judging.results import Result
from sitelog.language.kinds.header import NamedSheet, Use
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.kinds.tool import Measure
from sitelog.notation.places import compress
from sitelog.physics.uncertainty import conformance, standard_uncertainty


def tool_findings(case: Case, results: Sequence[Result]) -> list[Finding]:
    """What there is to say about the tools that the logs of a site name, and those of its results."""
    return [*_unknown_tools(case), *_default_limits(results), *_never_fits(case)]


def _unknown_tools(case: Case) -> Iterator[Finding]:
    for entry in case.log.of(Use):
        if isinstance(entry.record, Use) and case.box.kits:
            for tool in entry.record.tools:
                if tool.name.strip("_") and not case.box.find(tool.name):  # `___` is a blank
                    near = case.box.nearest(tool.name)
                    names = ", ".join(kit.name for kit in case.box.kits)
                    message = f"no tool `{tool.name}` in {names}"
                    help = f"did you mean `{near}`?" if near else ""
                    span = entry.entry.span(entry.file, tool.start, tool.end)
                    yield finding_at(span, "unknown-tool", message, help, "error")


def _default_limits(results: Sequence[Result]) -> Iterator[Finding]:
    said: set[str] = set()
    for result in results:
        instrument, obs = result.instrument, result.observation
        if instrument.by_default and instrument.name not in said and obs is not None:
            said.add(instrument.name)
            says = instrument.by_default
            message = f"the kit is silent on {instrument.name}, so ISO 6789 stands in: {says}"
            help = "give the tool its own limits and interval in the kit"
            if says.startswith("as written"):
                message = f"the kit is silent on the last digit of {instrument.name}, so it is taken {says}"
                help = "add it to the kit, such as `digit 0.01 ohm`"
            span = obs.record.head.entry.span(obs.file, obs.start, obs.end)
            yield finding_at(span, "default-tool-limits", message, help)


def _never_fits(case: Case) -> Iterator[Finding]:
    """Tools that could not show a joint within its limits even on the best value: said once, before work."""
    if not any(case.guards.values()):
        return
    named = {
        entry.record.name.casefold(): entry
        for entry in case.log.of(NamedSheet)
        if isinstance(entry.record, NamedSheet)
    }
    groups: dict[tuple[str, str], list[str]] = {}
    for requirement in case.requirements:
        if row_of(requirement.kind).measures == "torque" and case.guard(requirement):
            for kit in case.box.kits:
                for tool in kit.tools.values():
                    for measure in tool.measures:
                        if _is_too_coarse(measure, requirement, case.guard(requirement)):
                            key = tool.name, requirement.sheet
                            groups.setdefault(key, []).append(requirement.place)
    for (tool_name, sheet), places in groups.items():
        entry = named.get(sheet.casefold())
        if entry is not None:
            message = (
                f"{tool_name} can never show {compress(places)} within the limits as surely as `{sheet}` asks"
            )
            help = "take a tool with closer limits for these"
            yield finding_at(entry.entry.span(entry.file), "tool-never-fits", message, help, "warning")


def _is_too_coarse(measure: Measure, requirement: Requirement, guard: float) -> bool:
    """Whether a tool misses the probability `guard` even at the middle of the limits, within its range."""
    low, high = requirement.limits.low, requirement.limits.high
    if low is None or high is None or requirement.limits.target is None or low == high:
        return False
    share, fixed, _ = limits_of(measure)
    if measure.kind != "torque" or share is None or measure.low is None or measure.high is None:
        return False
    middle = float(low.base + high.base) / 2
    if not float(measure.low.base) <= middle <= float(measure.high.base):
        return False
    u = standard_uncertainty(share * middle + (fixed or 0.0), 0.0)
    return conformance(middle, u, float(low.base), float(high.base)) < guard

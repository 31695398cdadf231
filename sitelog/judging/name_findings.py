"""Findings of names: those that no sheet knows, and those in sheets that mean nothing or two things."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from sitelog.files.records import Sheet
from sitelog.files.records.sheet import STATES
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding, Span
from sitelog.judging.case import Case
from sitelog.judging.evidence import SheetRequirements
from sitelog.judging.results import Result
from sitelog.judging.site import Observation
from sitelog.language.kinds.kind import row_of
from sitelog.notation.misspelt import nearest
from sitelog.notation.places import compress, expand, hint


def unknown_names(case: Case, results: Sequence[Result]) -> list[Finding]:
    """Places and steps of a kind that a sheet asks, known to no sheet; the nearest is then still missing."""
    unasked = [
        (result, result.observation)
        for result in results
        if result.requirement is None
        and row_of(result.kind).unknown
        and result.observation is not None
        and case.evidence.key(result.observation) not in case.evidence.asked_keys
    ]
    if not case.requirements or not unasked:
        return []
    whats = {(requirement.kind, requirement.what.casefold()) for requirement in case.requirements}
    kinds = {requirement.kind for requirement in case.requirements}
    open_steps = {
        result.what
        for result in results
        if row_of(result.kind).unknown == "step" and result.verdict == "missing"
    }
    states = _states(case.sheets)
    asked_steps = (each.what for each in case.requirements if row_of(each.kind).unknown == "step")
    steps = sorted({*asked_steps, *states})
    verdicts = {(result.kind, result.what.casefold(), result.place): result.verdict for result in results}
    groups: dict[tuple[object, ...], list[Observation]] = {}
    for result, obs in unasked:
        unknown = row_of(result.kind).unknown
        if (unknown == "place" and result.kind in kinds) or (
            unknown == "place of what" and (result.kind, result.what.casefold()) in whats
        ):
            groups.setdefault((obs.file, obs.line, "unknown-place"), []).append(obs)
        elif unknown == "step" and result.what.casefold() not in states:
            groups.setdefault((obs.file, obs.line, result.what, "unknown-step"), []).append(obs)
    return [
        _unknown_step(observations[0], open_steps, steps)
        if key[-1] == "unknown-step"
        else _unknown_place(case, observations, verdicts)
        for key, observations in groups.items()
    ]


def _unknown_step(obs: Observation, open_steps: Iterable[str], steps: Iterable[str]) -> Finding:
    """A step that no sheet asks: a slip for one that is asked or is a state, or work that nobody judges."""
    message = f"no sheet knows the step `{obs.what}`"
    if close := _close(obs.what.casefold(), open_steps, 0.7):
        help = f"did you mean `{close[0]}`? It is still missing"
    elif near := nearest(obs.what, steps):
        help = f"did you mean `{near}`?"
    else:
        return finding_at(_at(obs), "unknown-step", message, "it is judged by nothing", "info")
    return finding_at(_at(obs), "unknown-step", message, help)


def _unknown_place(
    case: Case, observations: Sequence[Observation], verdicts: Mapping[tuple[str, str, str], str]
) -> Finding:
    """Places of one entry that no sheet knows; `verdicts` are those of results by kind, what and place."""
    obs = observations[0]
    key = case.evidence.key(obs)
    near = hint(obs.place) or case.evidence.members(key) or case.evidence.nearest_place(key)
    help = ""
    if near:
        meant = [place for part in near.split(", ") for place in expand(part)]
        still = all(verdicts.get((obs.kind, obs.what.casefold(), place)) == "missing" for place in meant)
        left = f" {'It is' if len(meant) == 1 else 'They are'} still missing" if still else ""
        help = f"did you mean `{near}`?{left}"
    about = f"{obs.what} at " if obs.what and obs.place else obs.what
    places = compress([other.place for other in observations])
    message = f"no sheet asks {about}{places}" if about else f"no sheet knows {places}"
    # Whoever measures more than is asked is not the worse for it.
    severity = "info" if row_of(obs.kind).subject == "readings" else ""
    return finding_at(_at(obs, places), "unknown-place", message, help, severity)


def _states(sheets: Sequence[Sheet]) -> set[str]:
    """Every state that an entry can bring about or end."""
    pairs = (*STATES, *(pair for sheet in sheets for pair in sheet.states))
    return {state for pair in pairs for state in pair}


def sheet_name_findings(by_sheets: SheetRequirements) -> tuple[Finding, ...]:
    """Names behind `while`, `after`, `before` and `reopens` in the sheets that mean none or two."""
    found: list[Finding] = []
    states = _states(by_sheets.sheets)
    for requirement in by_sheets.asked:
        span = Span(requirement.file, requirement.line)
        for state, _ in requirement.states:
            if state.casefold() not in states:
                message = f"`{state}` behind `while` is no state that an entry could end"
                help = f"write its pair on a line of its own: `state {state} ...`"
                close = _close(state.casefold(), states, 0.7)
                help = f"did you mean `{close[0]}`? Else {help}" if close else help
                found.append(finding_at(span, "unknown-step", message, help))
        for name in (*requirement.after, *requirement.before, *requirement.reopens):
            groups = by_sheets.meant(name, requirement)
            if len(groups) == 1:
                continue
            if groups:
                what = " and ".join(f"a {kind}" for kind in groups)
                help = "give one of them another name"
                found.append(finding_at(span, "two-meanings", f"`{name}` is {what}", help))
            else:
                known = {other.what or other.place for other in by_sheets.asked}
                close = _close(name, known, 0.6)
                help = f"did you mean `{close[0]}`?" if close else ""
                message = f"nothing that is asked is called `{name}`"
                found.append(finding_at(span, "unknown-step", message, help))
    return tuple(found)


def _at(obs: Observation, word: str = "") -> Span:
    """An observation, or a word of its entry where that stands there as it is."""
    entry = obs.record.head.entry
    at = entry.text.find(word, entry.start) if word else -1
    start, end = (at, at + len(word)) if at >= 0 else (obs.start, obs.end)
    return entry.span(obs.file, start, end)


def _close(word: str, known: Iterable[str], cutoff: float) -> list[str]:
    """The nearest of the words known, or none."""
    from difflib import get_close_matches  # slow to import, and wanted on slips only

    return get_close_matches(word, list(known), 1, cutoff)

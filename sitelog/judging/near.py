"""Names of a log that no sheet asks: slips for one that is asked or was written before, and unknown sorts.

What was done under a misspelt name is judged by nothing, so a slip is told whether or not the name that was
meant was done as well. Names that differ in a number or a short part are two names (`notation/misspelt.py`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set

from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding, Span
from sitelog.judging.case import Case
from sitelog.judging.results import Result
from sitelog.judging.site import LogEntry, Observation
from sitelog.language.kinds import SHEET
from sitelog.language.kinds.electric import Device
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.paper import Defect
from sitelog.language.kinds.reading import MEASURES
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.kinds.step import Lock
from sitelog.notation.misspelt import nearest
from sitelog.notation.places import group

# Kinds of which every unknown place is a finding, and steps, have findings of their own; anything else may be
# logged unasked, so that only a slip is worth a word.
_KINDS = {word: row.title or word for word, row in SHEET.items() if row.unknown in ("name", "place of what")}
_CUTOFF = 0.75


def near_names(case: Case, results: Sequence[Result], said: Set[tuple[str, int]]) -> list[Finding]:
    """A finding for each such name; `said` holds the files and lines of which this has been said already."""
    asked: dict[str, dict[str, dict[str, bool]]] = {}  # kind: what: place: whether it is still missing
    for result in results:
        if result.requirement is not None and result.kind in _KINDS:
            places = asked.setdefault(result.kind, {}).setdefault(_what(result), {})
            places[result.place] = places.get(result.place, False) or result.verdict == "missing"
    found: dict[tuple[str, int, str], Finding] = {}
    for result in results:
        obs = result.observation
        if (
            result.requirement is not None
            or obs is None
            or result.kind not in _KINDS
            or (obs.file, obs.line) in said
            or case.evidence.key(obs) in case.evidence.asked_keys
        ):
            continue
        whats = asked.get(result.kind, {})
        if (finding := _of_result(result, obs, whats)) is not None:
            found.setdefault((obs.file, obs.line, finding.message), finding)
    return [*found.values(), *_misspelt_places(case)]


def _of_result(result: Result, obs: Observation, whats: dict[str, dict[str, bool]]) -> Finding | None:
    """What there is to say of one unasked name; `whats` are the asked ones of its kind."""
    what = _what(result)
    if what in whats:
        wrong, known = result.place, whats[what]
    else:
        wrong, known = result.what, {name: any(places.values()) for name, places in whats.items()}
    near = _nearest(wrong, known)
    is_reading = row_of(result.kind).measures == "by name"
    if is_reading and what not in whats and result.what.casefold() not in MEASURES:
        help = "a sort of your own stands in a sheet; else say it in a `note`"
        if meant := near or nearest(result.what, MEASURES):
            help = f"did you mean `{meant}`?" + (" It is still missing" if known.get(meant) else "")
        message = f"no sheet asks `{result.what}`, and it is no sort of reading that is known"
        return finding_at(_at_word(obs, result.what), "unknown-name", message, help)
    if not near and is_reading and what not in whats:
        message = f"no sheet asks the {_KINDS[result.kind]} `{result.what}`"
        return finding_at(_at_word(obs, result.what), "unknown-name", message, "it has no limit", "info")
    if not near:
        return None
    help = f"did you mean `{near}`?" + (" It is still missing" if known[near] else "")
    severity = "info" if is_reading and not known[near] else ""
    message = f"no sheet asks the {_KINDS[result.kind]} `{wrong}`"
    return finding_at(_at_word(obs, wrong), "unknown-name", message, help, severity)


def _what(result: Result) -> str:
    # A photo's `what` is the name of its file; what it shows is the place.
    return result.what.casefold() if SHEET[result.kind].called == "what" else ""


def _nearest(wrong: str, known: dict[str, bool]) -> str:
    """The name that was meant: a slip or two away, or, of those still missing, one that looks like it."""
    if not wrong:
        return ""
    if slip := nearest(wrong, known):
        return slip
    from difflib import get_close_matches  # slow to import, and wanted on slips only

    # `wall-2` is not a slip for `wall-1`.
    folded = {
        name.casefold(): name
        for name, is_missing in known.items()
        if is_missing and (group(name) == name or group(name) != group(wrong))
    }
    close = get_close_matches(wrong.casefold(), list(folded), 1, _CUTOFF)
    return folded[close[0]] if close else ""


def _at_word(obs: Observation, word: str) -> Span:
    entry = obs.record.head.entry
    at = entry.text.find(word, entry.start) if word else -1
    start, end = (at, at + len(word)) if at >= 0 else (obs.start, obs.end)
    return entry.span(obs.file, start, end)


# ---- places of locks, devices and defects ----------------------------------------------------------------
def _misspelt_places(case: Case) -> Iterator[Finding]:
    """Places that no sheet has and that are nearly one which a sheet has, or which stood in a line above."""
    known = {name.casefold(): name for name in _places_of_sheets(case.requirements)}
    for entry in case.log.entries:
        if not case.log.is_struck(entry):
            yield from _misspelt_in(entry, known)


def _misspelt_in(entry: LogEntry, known: dict[str, str]) -> Iterator[Finding]:
    """The finding of each place in one entry that is a slip; its places are known to the lines below."""
    record = entry.record
    if isinstance(record, (Lock, Device, Defect)):
        for place in record.places:
            if place.name.casefold() in known or (near := nearest(place.name, known.values())) == "":
                continue
            span = entry.entry.span(entry.file, place.start, place.end)
            message = f"`{place.name}` stands in no sheet, and is nearly `{near}`"
            yield finding_at(span, "unknown-place", message, f"did you mean `{near}`?")
    for obs in entry.observations:
        if obs.place:
            known.setdefault(obs.place.casefold(), obs.place)


def _places_of_sheets(requirements: Iterable[Requirement]) -> Iterator[str]:
    """Every place that a sheet names: where it asks something, and the devices that its limits look at."""
    for requirement in requirements:
        if requirement.place:
            yield from (requirement.place, *requirement.place.split("/"))
        for limits in (requirement.limits, requirement.second, *(limits for _, limits in requirement.items)):
            yield from (factor.reference.partition(".")[0] for factor in limits.formula if factor.reference)

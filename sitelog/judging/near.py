"""Names that no sheet knows and that are nearly one that a sheet asks and that is still missing."""

from __future__ import annotations

from collections.abc import Sequence, Set

from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.judging.results import Result
from sitelog.judging.site import Observation
from sitelog.language.kinds import SHEET
from sitelog.notation.places import group

# Kinds of which every unknown place is a finding, and steps, have findings of their own; anything else may be
# logged unasked, so that only a slip is worth a word.
_KINDS = {word: row.title or word for word, row in SHEET.items() if row.unknown in ("name", "place of what")}
_CUTOFF = 0.75


def near_names(results: Sequence[Result], said: Set[tuple[str, int]]) -> list[Finding]:
    """A finding for each such name; `said` holds the files and lines of which this has been said already."""
    lacking: dict[str, dict[str, set[str]]] = {}  # kind: what: places
    for one in results:
        if one.verdict == "missing" and one.kind in _KINDS:
            lacking.setdefault(one.kind, {}).setdefault(_what(one), set()).add(one.place)
    nearest: dict[tuple[str, str, str], str] = {}
    found: dict[tuple[str, int, str], Finding] = {}
    for one in results if lacking else ():
        obs, whats = one.observation, lacking.get(one.kind)
        if one.requirement is not None or obs is None or whats is None or (obs.file, obs.line) in said:
            continue
        what = _what(one)
        wrong, known = (one.place, whats[what]) if what in whats else (one.what, whats.keys())
        key = one.kind, what, wrong
        if key not in nearest:
            nearest[key] = _nearest(wrong, known)
        if nearest[key]:
            found.setdefault(
                (obs.file, obs.line, wrong),
                _finding(obs, one.kind, wrong, nearest[key]),
            )
    return list(found.values())


def _what(one: Result) -> str:
    # A photo's `what` is the name of its file; what it shows is the place.
    return one.what.casefold() if SHEET[one.kind].called == "what" else ""


def _nearest(wrong: str, known: Set[str]) -> str:
    from difflib import get_close_matches  # slow to import, and wanted on slips only

    # `wall-2` is not a slip for `wall-1`.
    folded = {name.casefold(): name for name in known if group(name) == name or group(name) != group(wrong)}
    close = get_close_matches(wrong.casefold(), list(folded), 1, _CUTOFF) if wrong else []
    return folded[close[0]] if close else ""


def _finding(obs: Observation, kind: str, wrong: str, near: str) -> Finding:
    entry = obs.record.head.entry
    at = entry.text.find(wrong, entry.start)
    start, end = (at, at + len(wrong)) if at >= 0 else (obs.start, obs.end)
    return finding_at(
        entry.span(obs.file, start, end),
        "unknown-name",
        f"no sheet asks the {_KINDS[kind]} `{wrong}`",
        f"did you mean `{near}`? It is still missing",
    )

"""Results → findings: one for each thing to say, places with the same fault together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sitelog.base.verdicts import Reason
from sitelog.files.records import Sheet
from sitelog.files.records.sheet import STATES
from sitelog.findings.catalog import CATALOG
from sitelog.findings.finding import Finding
from sitelog.judging.blanks import Blank, blanks, waiting_for
from sitelog.judging.calibration import limits_of
from sitelog.judging.evidence import SheetRequirements
from sitelog.judging.judge import Judge
from sitelog.judging.results import Result
from sitelog.judging.site import Observation, SiteLog
from sitelog.language.kinds.header import NamedSheet, Use
from sitelog.language.kinds.kind import row_of
from sitelog.notation.places import compress, expand, hint
from sitelog.physics.uncertainty import conformance, standard_uncertainty

_WORSE_WHEN_SIGNED = frozenset({"missing", "pre-only", "reopened", "not-tested"})


def findings_of(judge: Judge, results: Sequence[Result]) -> list[Finding]:
    """What there is to say about the results of one site."""
    groups: dict[tuple[object, ...], list[tuple[Result, Reason]]] = {}
    forms = blanks(judge.site, judge.names)
    waiting: dict[int, Blank] = {}
    for result in results:
        for reason in result.reasons:
            if not reason.slug or (reason.slug == "no-limit" and result.requirement is None):
                continue
            message = _without_place(reason.message, result.place)
            stands = result.observation or result.near
            where: tuple[str, int]
            if stands is not None:
                where = (stands.file, stands.line)
            elif result.requirement is not None and (
                blank := waiting_for(result.requirement, forms, judge.names)
            ):
                waiting[id(result)] = blank
                where = (blank.written.file, blank.written.entry.number)
            else:
                where = (result.requirement.sheet if result.requirement else "", result.visit)
            key = (where, reason.slug, message, reason.help, result.kind, result.visit)
            groups.setdefault(key, []).append((result, reason))
    found = [_finding(judge.site, group, waiting.get(id(group[0][0]))) for group in groups.values()]
    found += _live_work(judge)
    found += _unknown_names(judge, results)
    found += judge.by_sheets.once(_sheet_names)
    found += _tools(judge, results)
    return found


_HERE = "\0"
_ABOUT_A_VALUE = frozenset(
    {"under", "over", "under-torque", "over-torque", "probability-low", "wrong-test-voltage"}
)


def _without_place(message: str, place: str) -> str:
    return message.replace(place, _HERE) if place else message


def severity_of(site: SiteLog, result: Result, reason: Reason) -> str:
    """How grave a reason is: as its slug is, but an error where something open was signed all the same."""
    if reason.verdict in _WORSE_WHEN_SIGNED and site.visits[_visit(result, reason)].signed is not None:
        return "error"
    return CATALOG[reason.slug].severity


def _visit(result: Result, reason: Reason) -> int:
    return reason.visit if reason.visit >= 0 else result.visit


def _finding(site: SiteLog, group: Sequence[tuple[Result, Reason]], blank: Blank | None) -> Finding:
    result, reason = group[0]
    places = compress(dict.fromkeys(other.place for other, _ in group))
    message = _without_place(reason.message, result.place).replace(_HERE, places)
    slug, severity = reason.slug, severity_of(site, result, reason)
    signed = site.visits[_visit(result, reason)].signed
    if reason.slug == "missing" and signed is not None:
        slug = "signed-with-missing"
        message += f", and {signed.who} has signed"
    if reason.slug in _ABOUT_A_VALUE and result.beside:
        message += f" ({result.beside})"
    stands = result.observation or result.near
    if stands is None and blank is not None:
        slug = "blank-left" if slug == "missing" else slug
        entry = blank.written.entry
        at = entry.number, blank.start + 1, blank.end + 1
        return Finding(slug, severity, message, reason.help, blank.written.file, *at, entry.text)
    if stands is None:
        return _at_sheet(site, result, slug, severity, message, reason.help)
    observations = [obs for other, _ in group if (obs := other.observation or other.near) is not None]
    start, end = (
        min(obs.start for obs in observations),
        max(obs.end for obs in observations),
    )
    entry = stands.record.head.entry
    return Finding(
        slug, severity, message, reason.help, stands.file, entry.number, start + 1, end + 1, entry.text
    )


def _at_sheet(site: SiteLog, result: Result, slug: str, severity: str, message: str, help: str) -> Finding:
    """What is missing stands nowhere; it is said where the log names the sheet that asks it."""
    sheet = result.requirement.sheet.casefold() if result.requirement is not None else ""
    named = next(
        (
            one
            for one in site.of(NamedSheet)
            if isinstance(one.record, NamedSheet) and one.record.name.casefold() == sheet
        ),
        None,
    )
    if named is None:
        return Finding(slug, severity, message, help, site.files[0], 1, 1, 2)
    entry = named.entry
    source = result.requirement.source if result.requirement is not None else ""
    if source and slug in ("missing", "signed-with-missing"):
        help = help or f"asked by {source}"
    return Finding(
        slug, severity, message, help, named.file, entry.number, entry.start + 1, entry.end + 1, entry.text
    )


def _at(obs: Observation, slug: str, message: str, help: str = "", word: str = "") -> Finding:
    """A finding about a mark, or about a word of its entry where that stands there as it is."""
    entry = obs.record.head.entry
    at = entry.text.find(word, entry.start) if word else -1
    start, end = (at, at + len(word)) if at >= 0 else (obs.start, obs.end)
    where = obs.file, entry.number, start + 1, end + 1, entry.text
    return Finding(slug, CATALOG[slug].severity, message, help, *where)


def _live_work(judge: Judge) -> list[Finding]:
    """Joints undone and parts taken out with the breaker on, whether or not a sheet asks for it off."""
    groups: dict[tuple[str, int, str], list[Observation]] = {}
    for obs in judge.observations:
        if obs.kind in ("joint", "part") and obs.mode in _UNDONE:
            last = judge.states.last("breaker-on", "", obs.moment.order)
            if last is not None and last.what.casefold() == "breaker-on":
                groups.setdefault((obs.file, obs.line, f"{last.line}"), []).append(obs)
    found: list[Finding] = []
    for (_, _, since), observations in groups.items():
        done = _UNDONE[observations[0].mode]
        message = f"{compress([obs.place for obs in observations])} {done} with the breaker on (line {since})"
        found.append(
            _at(
                observations[0],
                "live-work",
                message,
                "breaker off, locked and proved dead before anything is undone",
            )
        )
    return found


_UNDONE = {"loosed": "loosed", "swap": "swapped", "removed": "removed"}


# ---- names that nothing knows ------------------------------------------------------------------------------


def _unknown_names(judge: Judge, results: Sequence[Result]) -> list[Finding]:
    """Places and steps of a sort that a sheet asks, known to no sheet; the nearest is then still missing."""
    unasked = [
        (result, result.observation)
        for result in results
        if result.requirement is None
        and row_of(result.kind).unknown
        and result.observation is not None
        and judge.evidence.key(result.observation) not in judge.evidence.asked_keys
    ]
    if not judge.asked or not unasked:
        return []
    whats = {(one.kind, one.what.casefold()) for one in judge.asked}
    kinds = {one.kind for one in judge.asked}
    open_steps = {
        result.what
        for result in results
        if row_of(result.kind).unknown == "step" and result.verdict == "missing"
    }
    states = _states(judge.sheets)
    lacking = {(result.kind, result.what.casefold(), result.place): result.verdict for result in results}
    groups: dict[tuple[object, ...], list[Observation]] = {}
    for result, obs in unasked:
        unknown = row_of(result.kind).unknown
        if (unknown == "place" and result.kind in kinds) or (
            unknown == "place of what" and (result.kind, result.what.casefold()) in whats
        ):
            groups.setdefault((obs.file, obs.line, "unknown-place"), []).append(obs)
        elif unknown == "step" and result.what.casefold() not in states:
            close = _close(result.what.casefold(), open_steps, 0.7)
            if close:
                groups.setdefault((obs.file, obs.line, "unknown-step"), []).append(obs)
    found: list[Finding] = []
    for (_, _, slug), observations in groups.items():
        obs = observations[0]
        if slug == "unknown-step":
            near = _close(obs.what.casefold(), open_steps, 0.7)[0]
            found.append(
                _at(
                    obs,
                    "unknown-step",
                    f"no sheet knows the step `{obs.what}`",
                    f"did you mean `{near}`? It is still missing",
                )
            )
            continue
        key = judge.evidence.key(obs)
        near = hint(obs.place) or judge.evidence.members(key) or judge.evidence.nearest_place(key)
        help = ""
        if near:
            meant = [one for part in near.split(", ") for one in expand(part)]
            still = all(lacking.get((obs.kind, obs.what.casefold(), one)) == "missing" for one in meant)
            left = f" {'It is' if len(meant) == 1 else 'They are'} still missing" if still else ""
            help = f"did you mean `{near}`?{left}"
        about = f"{obs.what} at " if obs.what and obs.place else obs.what
        places = compress([one.place for one in observations])
        found.append(
            _at(
                obs,
                "unknown-place",
                f"no sheet asks {about}{places}" if about else f"no sheet knows {places}",
                help,
                places,
            )
        )
    return found


def _states(sheets: Sequence[Sheet]) -> set[str]:
    """Every state that an entry can bring about or end."""
    pairs = (*STATES, *(pair for sheet in sheets for pair in sheet.states))
    return {state for pair in pairs for state in pair}


def _sheet_names(by_sheets: SheetRequirements) -> tuple[Finding, ...]:
    """Names behind `while`, `after`, `before` and `reopens` that mean nothing, or two things."""
    found: list[Finding] = []
    states = _states(by_sheets.sheets)
    for one in by_sheets.asked:
        for state, _ in one.states:
            if state.casefold() not in states:
                message = f"`{state}` behind `while` is no state that an entry could end"
                help = f"write its pair on a line of its own: `state {state} ...`"
                close = _close(state.casefold(), states, 0.7)
                help = f"did you mean `{close[0]}`? Else {help}" if close else help
                found.append(_in_sheet(one.file, one.line, "unknown-step", message, help))
        for name in (*one.after, *one.before, *one.reopens):
            groups = by_sheets.meant(name, one)
            if len(groups) == 1:
                continue
            if groups:
                what = " and ".join(f"a {kind}" for kind in groups)
                found.append(
                    _in_sheet(
                        one.file,
                        one.line,
                        "two-meanings",
                        f"`{name}` is {what}",
                        "give one of them another name",
                    )
                )
            else:
                known = {other.what or other.place for other in by_sheets.asked}
                close = _close(name, known, 0.6)
                help = f"did you mean `{close[0]}`?" if close else ""
                found.append(
                    _in_sheet(
                        one.file, one.line, "unknown-step", f"nothing that is asked is called `{name}`", help
                    )
                )
    return tuple(found)


def _in_sheet(file: str, line: int, slug: str, message: str, help: str) -> Finding:
    return Finding(slug, CATALOG[slug].severity, message, help, file, line, 1, 2)


# ---- tools -------------------------------------------------------------------------------------------------
def _tools(judge: Judge, results: Sequence[Result]) -> list[Finding]:
    found: list[Finding] = []
    for one in judge.site.of(Use):
        if isinstance(one.record, Use) and judge.box.kits:
            for tool in one.record.tools:
                if tool.name.strip("_") and not judge.box.find(tool.name):  # `___` is a blank
                    near = judge.box.nearest(tool.name)
                    names = ", ".join(kit.name for kit in judge.box.kits)
                    message = f"no tool `{tool.name}` in {names}"
                    help = f"did you mean `{near}`?" if near else ""
                    span = (tool.start + 1, tool.end + 1)
                    at = (one.file, one.entry.number, *span, one.entry.text)
                    found.append(Finding("unknown-tool", "error", message, help, *at))
    said: set[str] = set()
    for result in results:
        instrument, obs = result.instrument, result.observation
        if instrument.by_default and instrument.name not in said and obs is not None:
            said.add(instrument.name)
            message = (
                f"the kit is silent on {instrument.name}, so ISO 6789 stands in: {instrument.by_default}"
            )
            found.append(
                _at(
                    obs,
                    "default-tool-limits",
                    message,
                    "give the tool its own limits and interval in the kit",
                )
            )
    return found + _never_fits(judge)


def _never_fits(judge: Judge) -> list[Finding]:
    """Tools that could not show a joint within its limits even on the best value: said once, before work."""
    found: list[Finding] = []
    if not any(judge.guards.values()):
        return found
    sheet_lines = {
        one.record.name.casefold(): one
        for one in judge.site.of(NamedSheet)
        if isinstance(one.record, NamedSheet)
    }
    groups: dict[tuple[str, str], list[str]] = {}
    for one in judge.asked:
        guard = judge.guards.get(one.sheet, 0.0)
        low, high, target = one.limits.low, one.limits.high, one.limits.target
        if (
            row_of(one.kind).measures != "torque"
            or not guard
            or low is None
            or high is None
            or target is None
            or low == high
        ):
            continue
        for kit in judge.box.kits:
            for tool in kit.tools.values():
                for measure in tool.measures:
                    share, fixed, _ = limits_of(measure)
                    if (
                        measure.kind != "torque"
                        or share is None
                        or measure.low is None
                        or measure.high is None
                    ):
                        continue
                    middle = float(low.base + high.base) / 2
                    if not float(measure.low.base) <= middle <= float(measure.high.base):
                        continue
                    u = standard_uncertainty(share * middle + (fixed or 0.0), 0.0)
                    if conformance(middle, u, float(low.base), float(high.base)) < guard:
                        groups.setdefault((tool.name, one.sheet), []).append(one.place)
    for (tool_name, sheet), places in groups.items():
        written = sheet_lines.get(sheet.casefold())
        message = (
            f"{tool_name} can never show {compress(places)} within the limits as surely as `{sheet}` asks"
        )
        help = "take a tool with closer limits for these"
        if written is not None:
            entry = written.entry
            found.append(
                Finding(
                    "tool-never-fits",
                    "warning",
                    message,
                    help,
                    written.file,
                    entry.number,
                    entry.start + 1,
                    entry.end + 1,
                    entry.text,
                )
            )
    return found


def unique(findings: Iterable[Finding]) -> list[Finding]:
    """Each finding once, in the order of files and lines."""
    return sorted(dict.fromkeys(findings), key=lambda one: (one.file, one.line, one.column, one.slug))


def _close(word: str, known: Iterable[str], cutoff: float) -> list[str]:
    """The nearest of the words known, or none."""
    from difflib import get_close_matches  # slow to import, and wanted on slips only

    return get_close_matches(word, list(known), 1, cutoff)

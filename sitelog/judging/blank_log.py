"""A log to fill in, made from sheets and a kit. Pure: what is asked in, lines out.

`___` stands where a value or a name goes, one for each place. What cannot hold a blank (a step, a lock,
a device) stands as a comment to uncomment, since a line that is written down counts as done. Nothing is
filled in that only the work can say: a test voltage is asked in the comment, not claimed in the line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import groupby
from typing import NamedTuple

from sitelog.files.records import Kit, Sheet, read_log
from sitelog.files.records.sheet import STATES
from sitelog.files.source import Source
from sitelog.files.tidying import tidied_lines
from sitelog.judging.evidence import meant_by, members
from sitelog.judging.tools import tools_for
from sitelog.language.kinds import SHEET
from sitelog.language.kinds.reading import MEASURES
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.kinds.tool import Tool
from sitelog.notation.places import compress

BLANK = "___"
_MOST_IN_A_LINE = 12
# The unit a value is usually written in where no limit says it.
_UNITS = {
    "resistance": "ohm",
    "voltage": "V",
    "time": "ms",
    "current": "A",
    "temperature": "degC",
    "ratio": "%",
    "frequency": "Hz",
    "torque": "Nm",
}


class Head(NamedTuple):
    """What the top of the log says."""

    site: str
    crew: tuple[str, ...]
    visit: str
    day: date


class _Item(NamedTuple):
    """What one line of a sheet asks, of the places that belong to one stage."""

    stage: str
    asked: tuple[Requirement, ...]


def form(head: Head, sheets: Sequence[Sheet], kit: Kit | None, caution: str) -> list[str]:
    """The lines of a log to fill in: what the sheets ask of a visit, in the order of the work.

    Args:
        head: site, crew (the lead first), visit and day.
        sheets: the sheets, each with what it is based on.
        kit: the crew's kit, whose tools are proposed where exactly one fits.
        caution: a sentence to stand among the first lines, as a comment.
    """
    items = _in_work_order(sheets, head.visit)
    held = _Held(sheets)
    body: list[str] = []
    tools: list[str] = []
    for stage, group in groupby(items, key=lambda item: item.stage):
        body += ["", *([f"# {stage}"] if stage else [])]
        for item in group:
            body += held.before(item.asked)
            body += _lines_of(item, kit, tools)
    lines = [*_head_lines(head, sheets, kit, caution), *_use(tools), *body]
    source = Source(f"{head.site}.site", "log", tuple(lines))
    lines = tidied_lines(lines, source)
    return _readable(lines, source.file)


def _head_lines(head: Head, sheets: Sequence[Sheet], kit: Kit | None, caution: str) -> Iterator[str]:
    yield "# To fill in: ___ stands where a value or a name goes; behind it what is asked, not what was done."
    yield "# A line behind # counts once the # is taken away: a step that is written down counts as done."
    yield f"# {caution}"
    yield f"site {head.site}"
    for sheet in sheets:
        yield f"sheet {sheet.name}" + (f" revision {sheet.revision}" if sheet.revision else "")
    yield f"kit {kit.name}" if kit is not None else "# kit    ___"
    for at, name in enumerate(head.crew):
        yield f"crew {name}" + (" lead" if at == 0 else "")
    if not head.crew:
        yield "# crew   ___  lead"
    yield ""
    yield f"visit {head.visit}"
    yield f"day {head.day}"


def _use(tools: Sequence[str]) -> list[str]:
    return [f"use {', '.join(tools)}"] if tools else []


def _readable(lines: list[str], file: str) -> list[str]:
    """The lines with every one a comment that a log could not hold, such as an odd name of a sheet."""
    log = read_log(Source(file, "log", tuple(lines)))
    wrong = {one.line for one in log.findings if one.severity == "error"}
    return [f"# {line}" if number in wrong else line for number, line in enumerate(lines, 1)]


# ---- the order of the work ---------------------------------------------------------------------------
def _in_work_order(sheets: Sequence[Sheet], visit: str) -> list[_Item]:
    """What the sheets ask of a visit: by stages, else as the sheets have it, and nothing before its time."""
    everything = [one for sheet in sheets for one in sheet.requirements]
    placed: list[tuple[tuple[int, int, int], _Item]] = []
    order = _merged([[stage for stage, _ in sheet.stages] for sheet in sheets])
    seen: set[tuple[str, str, str, str]] = set()
    for sheet in sheets:
        at = _stages(sheet)
        wanted = [one for one in sheet.requirements if _is_asked(one, visit)]
        stage, rank = next((at[id(one)] for one in wanted if id(one) in at), ("", 0))
        rank -= 1  # what stands above the first thing of a stage comes before it
        for _, line in groupby(wanted, key=lambda one: (one.file, one.line, at.get(id(one)))):
            asks = list(line)
            stage, rank = at.get(id(asks[0]), (stage, rank))
            fresh = tuple(one for one in asks if one.key not in seen)
            seen.update(one.key for one in asks)
            if fresh:
                key = (order.index(stage) if stage in order else len(order), rank, len(placed))
                placed.append((key, _Item(stage, fresh)))
    return _after_their_like([item for _, item in sorted(placed, key=lambda one: one[0])], everything)


def _is_asked(one: Requirement, visit: str) -> bool:
    if one.visit:
        return one.visit == visit
    return visit == "install" or (visit == "service" and one.every is not None)


def _stages(sheet: Sheet) -> dict[int, tuple[str, int]]:
    """The stage of each thing asked, and its place in the stage's line."""
    found: dict[int, tuple[str, int]] = {}
    for stage, names in sheet.stages:
        for rank, name in enumerate(names):
            for others in members(name, sheet.requirements).values():
                for one in others:
                    found.setdefault(id(one), (stage, rank))
    return found


def _merged(lists: Iterable[Sequence[str]]) -> list[str]:
    """The stages of several sheets in one order that keeps that of each, as far as they agree."""
    whole: list[str] = []
    for names in lists:
        known = [at for at, name in enumerate(names) if name in whole]
        at = 0 if known and whole else len(whole)
        for number, name in enumerate(names):
            if name in whole:
                at = whole.index(name) + 1
            elif known and number > known[-1]:
                whole.append(name)
            else:
                whole.insert(at, name)
                at += 1
    return whole


def _after_their_like(items: list[_Item], everything: Sequence[Requirement]) -> list[_Item]:
    """The same items, each behind what a sheet's `after` or `before` puts in front of it."""
    holder = {id(one): item for item in items for one in item.asked}
    first: dict[int, list[_Item]] = {id(item): [] for item in items}
    for item in items:
        one = item.asked[0]
        for name in one.after:
            first[id(item)] += _holding(name, one, everything, holder)
        for name in one.before:
            for other in _holding(name, one, everything, holder):
                first[id(other)].append(item)
    found: list[_Item] = []
    begun: set[int] = set()

    for item in items:
        stack = [(item, iter(first[id(item)]))] if id(item) not in begun else []
        begun.add(id(item))
        while stack:  # by hand, since a sheet may chain more steps than Python nests calls
            top, waiting = stack[-1]
            following = next((other for other in waiting if id(other) not in begun), None)
            if following is not None:
                begun.add(id(following))
                stack.append((following, iter(first[id(following)])))
            else:
                found.append(top._replace(stage=item.stage))
                stack.pop()
    return found


def _holding(
    name: str, one: Requirement, everything: Sequence[Requirement], holder: dict[int, _Item]
) -> list[_Item]:
    meant = [other for others in meant_by(name, one, everything).values() for other in others]
    return [holder[id(other)] for other in meant if id(other) in holder]


class _Held:
    """The states that hold while a form is worked through, so that one that is wanted is made in time."""

    def __init__(self, sheets: Sequence[Sheet]) -> None:
        pairs = (*STATES, *(pair for sheet in sheets for pair in sheet.states))
        self._opposite = {one: other for pair in pairs for one, other in (pair, pair[::-1])}
        self._cautions = {
            one.what.casefold(): one.caution
            for sheet in sheets
            for one in sheet.requirements
            if SHEET[one.kind].unknown == "step"
        }
        self._now: set[str] = set()

    def before(self, asked: Sequence[Requirement]) -> Iterator[str]:
        """The steps that make the states wanted, each as a comment; none for a state that holds."""
        for state, place in asked[0].states:
            if state.casefold() not in self._now:
                yield from self._made(state, place)
                self._enter(state.casefold())
        for one in asked:
            if SHEET[one.kind].unknown == "step":
                self._enter(one.what.casefold())

    def _made(self, state: str, place: str) -> Iterator[str]:
        if caution := self._cautions.get(state.casefold()):
            yield f"# caution: {caution}"
        if state.casefold() in _LOCKS:
            label = " padlock ___" if state.casefold() == "locked" else ""
            yield f"# {_LOCKS[state.casefold()]:<7} {place or BLANK}{label}"
        else:
            yield f"# did     {state}"

    def _enter(self, state: str) -> None:
        if state in self._opposite:
            self._now.discard(self._opposite[state])
            self._now.add(state)


_LOCKS = {"locked": "lock", "unlocked": "unlock"}


# ---- one item in lines ---------------------------------------------------------------------------------
def _lines_of(item: _Item, kit: Kit | None, tools: list[str]) -> Iterator[str]:
    one = item.asked[0]
    if one.caution:
        yield f"# caution: {one.caution}"
    row = SHEET[one.kind]
    if row.measures and row.called != "nothing" and one.limits.formula:
        for name in _devices(one):
            yield f"# device  {name} C ___ A ___ kA"
    tool = _tool(one, kit)
    if tool is not None and tool.name not in tools:
        tools.append(tool.name)
    beside = "" if row.blank.startswith("#") else _beside(one)
    for fields in _fields(item.asked, tool):
        yield row.blank.format_map(fields).rstrip() + beside


def _devices(one: Requirement) -> list[str]:
    """The devices that a computed limit waits for."""
    names = [factor.reference.split(".")[0] for factor in one.limits.formula if "." in factor.reference]
    return list(dict.fromkeys(names))


def _beside(one: Requirement) -> str:
    """What is asked, as a comment behind the line. It begins with a word: `# 12` is a lost wire size."""
    parts = [one.size, f"class {one.grade}" if one.grade else "", one.limits.text]
    if one.second.text:
        parts.append(f"x {one.second.text}")
    parts += [limits.text for _, limits in one.items]
    if one.condition is not None:
        parts.append(f"at {one.at}")
    parts += [f'like "{one.pattern}"' if one.pattern else ""]
    parts += [" ".join(("while", *filter(None, state))) for state in one.states]
    parts += [f"every {one.every.text}" if one.every is not None else ""]
    if "{wait}" in SHEET[one.kind].blank and one.wait is not None:
        parts.append(f"after {one.wait.text}")
    if "{proved}" in SHEET[one.kind].blank:
        parts.append("proved before, after")
    text = " ".join(filter(None, parts))
    kind = f"{one.kind} " if SHEET[one.kind].called == "nothing" else ""
    return f"   # asked {kind}{text}" if text else ""


def _unit(one: Requirement) -> str:
    limits = one.limits
    q = limits.target or limits.high or limits.low
    if q is not None and q.unit:
        return q.unit
    if limits.word:
        return ""
    if limits.formula and not MEASURES.get(one.what.casefold()):
        return ""
    return _UNITS.get(_kind(one), "")


def _kind(one: Requirement) -> str:
    """The kind of quantity that a value comes in."""
    measures = SHEET[one.kind].measures
    if measures and measures != "by name":
        return measures
    return next(iter(MEASURES.get(one.what.casefold(), ())), "")


class _Fields(dict[str, str]):
    """What a template of a blank line may name; asked one by one, so that none is made in vain.

    `places` (an expression for up to twelve), `place`, `what`, `about` (what and place or places), `blanks`
    (one for each place), `unit` (with a space in front, where it is known), `length` (a length's unit),
    `size_unit` (a cable's), `click`, `with` and `proved` (of the tool), `at`, `wait`, `waited`.
    """

    def __init__(self, requirement: Requirement, places: Sequence[str], tool: Tool | None) -> None:
        self._requirement = requirement
        self._places = places
        self._tool = tool

    def __missing__(self, name: str) -> str:
        requirement, places, tool = self._requirement, compress(self._places), self._tool
        match name:
            case "place" | "places":
                return places
            case "what":
                return requirement.what
            case "about":
                return f"{requirement.what} {places}".strip()
            case "blanks":
                return " ".join([BLANK] * len(self._places))
            case "unit":
                return f" {unit}" if (unit := _unit(requirement)) else ""
            case "length":
                return _unit(requirement) or "mm"
            case "size_unit":
                size = dict(requirement.items).get("size")
                q = (size.low or size.high) if size is not None else None
                return q.unit if q is not None else "mm2"
            case "at":
                return _at(requirement)
            case "wait":
                return f" after {BLANK} min" if requirement.wait is not None else ""
            case "waited":
                return f"  waited {BLANK} s" if requirement.wait is not None else ""
            case "click":
                return "click " if tool is not None and tool.click else ""
            case "with":
                return f" with {tool.name}" if tool is not None else ""
            case "proved":
                return f" proved on {tool.proved_on}" if tool is not None and tool.proved_on else ""
        raise KeyError(name)


def _fields(asked: Sequence[Requirement], tool: Tool | None) -> Iterator[_Fields]:
    """The fields of each line that one line of a sheet leads to."""
    first = asked[0]
    row = SHEET[first.kind]
    if row.called == "nothing":  # a spread holds all its places in one requirement, each at any condition
        asked = [first._replace(place=place, condition=None) for place in first.place.split()]
        first = asked[0]
    together = _MOST_IN_A_LINE if "{blanks}" in row.blank or "{places}" in row.blank else 1
    for at in range(0, len(asked), together):
        some = asked[at : at + together]
        yield _Fields(first if together > 1 else some[0], [one.place for one in some], tool)


def _at(one: Requirement) -> str:
    """The condition of a reading: a test voltage is what the knob stood at, any other says which test."""
    if one.condition is None:
        return ""
    is_test_voltage = one.condition.kind == "voltage" and "resistance" in (one.limits.kind, _kind(one))
    return f" at {BLANK} V" if is_test_voltage else f" at {one.at}"


# ---- the tool -------------------------------------------------------------------------------------------
def _tool(one: Requirement, kit: Kit | None) -> Tool | None:
    """The one tool of the kit that measures what is asked, at all its limits; None where not just one is."""
    if kit is None:
        return None
    fitting = tools_for(kit.tools.values(), one)
    return fitting[0] if len(fitting) == 1 else None

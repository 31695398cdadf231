"""A sheet: what it asks, by which rule it judges, and the sheet it is based on."""

from __future__ import annotations

import re
from collections.abc import Mapping

from sitelog.base.frozen import record, replace
from sitelog.files.records.lines import read_lines
from sitelog.files.source import Source
from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.language.kinds import SHEET
from sitelog.language.kinds.base import Reader, unquoted
from sitelog.language.kinds.paper import GRADES
from sitelog.language.kinds.requirement import Requirement
from sitelog.notation.places import expand
from sitelog.notation.quantities import Problem

STATES = (("breaker-on", "breaker-off"), ("locked", "unlocked"), ("cover-open", "cover-closed"))
"""Pairs of steps of which the last one done says the state; a sheet may add more."""


@record
class Sheet:
    """One sheet. `guard` is the probability that `rule guarded` asks, 0 under `rule simple`."""

    name: str
    file: str
    revision: str = ""
    title: str = ""
    source: str = ""
    guard: float | None = None
    same: tuple[tuple[str, ...], ...] = ()
    states: tuple[tuple[str, str], ...] = ()
    stages: tuple[tuple[str, tuple[str, ...]], ...] = ()
    requirements: tuple[Requirement, ...] = ()
    based_on: str = ""
    without: tuple[tuple[str, str, str, int], ...] = ()  # kind, what, place, line
    retest: tuple[str, ...] = ()  # grades of defects after which the place is tested again
    findings: tuple[Finding, ...] = ()
    based_line: int = 0
    based_text: str = ""
    text: tuple[str, ...] = ()  # every line as written, those of what it is based on in front


def read_sheet(source: Source) -> Sheet:
    """Read a sheet as it stands in its file, before what it is based on is put under it."""
    findings: list[Finding] = list(source.findings)
    found: dict[str, object] = {}
    asked: list[Requirement] = []
    same: list[tuple[str, ...]] = []
    states: list[tuple[str, str]] = []
    stages: list[tuple[str, tuple[str, ...]]] = []
    without: list[tuple[str, str, str, int]] = []
    retest: list[str] = []
    for reader in read_lines(source, "sheet", findings):
        kind = reader.entry.kind
        if kind in SHEET:
            new = SHEET[kind].read(reader)
            _say_limit_in_comment(reader, new)
            asked += _new(reader, new, asked)
        elif kind == "sheet":
            if "name" in found:
                reader.say("duplicate-name", "a file is one sheet; this is its second name")
            else:
                names = [unquoted(node.tokens()[0].text) for node in reader.nodes("name")]
                title = next(iter(reader.words()), "")
                found |= {"name": names[0], "revision": names[1] if len(names) > 1 else "", "title": title}
        elif kind == "source":
            found["source"] = next(iter(reader.words()), "")
        elif kind == "rule":
            found["guard"] = _guard(reader)
        elif kind == "same":
            same.append(tuple(unquoted(node.tokens()[0].text).casefold() for node in reader.nodes("name")))
        elif kind == "based":
            found |= {
                "based_on": reader.name(),
                "based_line": reader.entry.number,
                "based_text": reader.entry.text,
            }
        elif kind == "without":
            without += _without(reader)
        elif kind == "state":
            pair = (
                " ".join(unquoted(node.tokens()[0].text) for node in reader.nodes("name"))
                .replace("/", " ")
                .split()
            )
            if len(pair) == 2:
                states.append((pair[0].casefold(), pair[1].casefold()))
            else:
                reader.say("unreadable", "a state is a pair: `state pump-on pump-off`")
        elif kind == "retest":
            retest += _grades(reader)
        elif kind == "stage":
            names_node = reader.node("names")
            names_ = (
                [token.text for token in names_node.tokens() if token.type != "COMMA"] if names_node else []
            )
            stages.append((reader.name(), tuple(name for text in names_ for name in _expanded(text))))
        findings += reader.findings
    if "name" not in found and (asked or not source.findings):
        findings.append(
            finding(
                "bad-name", "the sheet has no name", source.file, 1, 1, 2, help="begin it with `sheet NAME`"
            )
        )
    return Sheet(
        file=source.file,
        requirements=tuple(asked),
        same=tuple(same),
        states=tuple(states),
        stages=tuple(stages),
        without=tuple(without),
        retest=tuple(retest),
        findings=tuple(findings),
        text=source.lines,
        **{"name": "", **found},  # type: ignore[arg-type]
    )


# What begins as a limit does: a comparison with a number, a value with its tolerance, a range.
_COMPARISON = re.compile(r"#\s*(?:[<>]=?|=[<>]?|≤|≥)\s*[+-]?\d")
_VALUE = re.compile(r"#\s*[+-]?\d[\d.,]*\s*(?:\.\.\s*\d|[^\W\d_%]+\s*(?:$|±|\+/?-)|%?\s*(?:±|\+/?-))")


def _say_limit_in_comment(reader: Reader, new: list[Requirement]) -> None:
    """A limit behind `#` is a comment, and then anything passes: said where one stands there."""
    text, comment = reader.entry.text, reader.entry.comment
    start = text.find("#", reader.entry.body.end) if comment and reader.entry.body is not None else -1
    if start < 0:
        return
    unlimited = bool(SHEET[reader.entry.kind].measures) and any(
        not each.limits.text and not each.items for each in new
    )
    if _COMPARISON.match(text, start) or (unlimited and _VALUE.match(text, start)):
        message = "a limit behind `#` is a comment and limits nothing"
        help = "take the `#` away; a comment that only speaks of a limit begins with a word"
        reader.say("comment-ate-size", message, start, len(text.rstrip()), help)


def _expanded(text: str) -> tuple[str, ...]:
    names = expand(text)
    return (text,) if isinstance(names, Problem) else names


def _new(reader: Reader, asked: list[Requirement], before: list[Requirement]) -> list[Requirement]:
    """What is asked for the first time in this sheet; a second time is an error."""
    known = {one.key: one for one in before}
    fresh: list[Requirement] = []
    said = False
    for one in asked:
        if (other := known.get(one.key)) is not None and other.visit == one.visit:
            if not said:
                reader.say("duplicate-requirement", f"{one.name} is asked already in line {other.line}")
                said = True
            continue
        known[one.key] = one
        fresh.append(one)
    return fresh


def _grades(reader: Reader) -> list[str]:
    """The grades of defects that ask for a test of the place once they are cleared."""
    node = reader.node("names")
    found: list[str] = []
    for token in node.tokens() if node is not None else ():
        if token.type == "COMMA":
            continue
        if token.text.casefold() in GRADES:
            found.append(token.text.casefold())
        else:
            reader.say(
                "unreadable", f"`{token.text}` is no grade: minor, major or danger", token.start, token.end
            )
    return found


def _guard(reader: Reader) -> float:
    node = reader.node("value")
    if node is None:
        return 0.0
    quantity = reader.value(node, ("ratio",))
    if quantity is None:
        return 0.0
    if not 0.5 <= float(quantity.base) < 1:
        reader.say("bad-number", "a guard lies from 50 % to under 100 %", node.start, node.end)
        return 0.0
    return float(quantity.base)


def _without(reader: Reader) -> list[tuple[str, str, str, int]]:
    kind = reader.words()[0].casefold() if reader.words() else ""
    if kind not in SHEET:
        reader.say(
            "unknown-kind", f"`{kind}` is nothing a sheet asks", help="for example: without joint bracket-8"
        )
        return []
    groups = [[place.name.casefold() for place in reader.places(node)] for node in reader.nodes("group")]
    line = reader.entry.number
    if SHEET[kind].has_what:
        places = groups[1] if len(groups) > 1 else ["*"]
        return [(kind, what, place, line) for what in groups[0] for place in places]
    if SHEET[kind].called == "what":
        return [(kind, name, "", line) for name in groups[0]]
    return [(kind, "", name, line) for name in groups[0]]


# ---- what it is based on ---------------------------------------------------------------------------
def assemble(
    sheet: Sheet, by_name: Mapping[str, Sheet], seen: tuple[str, ...] = ()
) -> tuple[Sheet, list[Finding]]:
    """The sheet with everything it is based on, and what is wrong with that.

    What the sheet asks replaces what its base asks of the same kind, what, place and condition.
    """
    if not sheet.based_on:
        return _named(sheet), []
    findings: list[Finding] = []

    def say(slug: str, message: str, help: str = "") -> None:
        end = len(sheet.based_text.rstrip()) + 1
        findings.append(finding(slug, message, sheet.file, sheet.based_line, 1, end, sheet.based_text, help))

    name = sheet.based_on.casefold()
    path = (*seen, sheet.name.casefold())
    base = by_name.get(name)
    if name in path:
        say(
            "sheet-cycle",
            f"`{sheet.name}` is based on itself: " + " on ".join((*path[path.index(name) :], name)),
        )
        return _named(sheet), findings
    if base is None:
        say("missing-sheet", f"no sheet `{sheet.based_on}` is in reach", "put its file beside this one")
        return _named(sheet), findings
    under, more = assemble(base, by_name, path)
    findings += more
    own = {one.key for one in sheet.requirements}
    dropped = {(kind, what, place) for kind, what, place, _ in sheet.without}
    for kind, what, place, line in sheet.without:
        if not any(_drops((kind, what, place), one) for one in under.requirements):
            about = " ".join(filter(None, (kind, what, place.strip("*"))))
            findings.append(
                finding(
                    "unknown-place",
                    f"`{under.name}` asks no {about}",
                    sheet.file,
                    line,
                    1,
                    8,
                    f"without {about}",
                )
            )
    kept = [
        one
        for one in under.requirements
        if one.key not in own
        and not any(_drops(drop, one) for drop in dropped)
        and not any(_spreads_over(other, one) for other in sheet.requirements)
    ]
    # What replaces a line of the base stands where that stood, so that work order is kept.
    order = {one.key: at for at, one in enumerate(under.requirements)}
    merged = sorted([*kept, *sheet.requirements], key=lambda one: order.get(one.key, len(order)))
    whole = replace(
        sheet,
        requirements=tuple(merged),
        text=under.text + sheet.text,
        findings=under.findings + sheet.findings,
        source=sheet.source or under.source,
        guard=under.guard if sheet.guard is None else sheet.guard,
        same=under.same + sheet.same,
        states=under.states + sheet.states,
        retest=under.retest + sheet.retest,
        stages=under.stages + sheet.stages,
    )
    return _named(whole), findings


def _drops(drop: tuple[str, str, str], one: Requirement) -> bool:
    kind, what, place, _ = one.key
    return drop[0] == kind and drop[1] == what and drop[2] in ("*", place)


def _spreads_over(one: Requirement, other: Requirement) -> bool:
    """Whether a spread takes the place of another: of the same reading, at some of the same places."""
    same = (
        one.kind == other.kind
        and SHEET[one.kind].called == "nothing"
        and one.what.casefold() == other.what.casefold()
    )
    return same and not set(one.place.casefold().split()).isdisjoint(other.place.casefold().split())


def _named(sheet: Sheet) -> Sheet:
    """Every requirement knows the sheet that asks it, and the source of its limit."""
    return replace(
        sheet,
        requirements=tuple(
            one._replace(sheet=sheet.name, source=one.source or sheet.source) for one in sheet.requirements
        ),
    )

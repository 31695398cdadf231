"""From what the parser says of a faulty line to what an installer can use."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from typing import TYPE_CHECKING

from sitelog.syntax.lexing import KIND
from sitelog.syntax.parser import ROLES, kinds
from sitelog.syntax.tokens import Fault

if TYPE_CHECKING:
    from lark.exceptions import UnexpectedInput

# What a terminal is called where people read it, in the order in which they are listed.
_WORDS = {
    "a value with its unit": ("NUMBER", "NUMWORD", "FRACTION", "FEET", "GAUGE", "PAIR", "SPAN", "RANGE"),
    "a name": ("WORD",),
    "a text in quotes": ("STRING",),
    "a date such as 2026-03-02": ("DATE",),
    "a unit": ("PERCENT",),
    "the end of the line or a remark behind ` -- `": ("REMARK", "$END"),
}
_CLAUSES = ("by", "with", "at", "of", "from", "to", "while", "after", "before", "proved", "on")

# Words people use for a kind, where spelling alone would lead elsewhere.
_MEANT = {
    "rd": "reading",
    "read": "reading",
    "measure": "reading",
    "measured": "reading",
    "torqued": "torque",
    "tq": "torque",
    "drill": "hole",
    "drilled": "hole",
    "inspect": "look",
    "check": "look",
    "checked": "look",
    "visual": "look",
    "sn": "serial",
    "s/n": "serial",
    "tool": "use",
    "tools": "use",
    "step": "did",
    "fault": "defect",
    "fixed": "cleared",
    "wire": "cable",
    "signed": "sign",
    "undid": "loosed",
    "loosened": "loosed",
    "replaced": "swap",
    "date": "day",
    "joint": "torque",
    "part": "serial",
}


def fault_of(error: UnexpectedInput, role: str, line: str) -> Fault:
    """The one fault of a line that the grammar refused."""
    start, end, kind = _place(error, line)
    found = line[start:end]
    words = line.split()
    first = re.match(r"[ \t]*(?:\d[\d:.\-]*(?:[ \t]*[ap]m)?[ \t]+)*(\S+)", line, re.IGNORECASE)
    if first is not None and start <= first.start(1) and kind != "$END":
        return _unknown_kind(first, role, line, start, end)
    expected = set(getattr(error, "expected", ()) or ())
    if found == '"':
        return Fault("stray-quote", "a quotation mark without its partner", 'close the text with `"`', start, end)
    if "COMMENT" in (kind, _type_before_end(line)) and (fault := comment_fault(line)):
        return fault
    if span := re.search(r"(\w+) (\d+) (?:to|-|–|bis|thru|through) (\d+)", line):
        place = f"{span[1]}-{span[2]}..{span[3]}"
        return Fault("bad-range", f"a range of places is written with two dots: {place}", "", span.start(), span.end())
    if kind in ("PM", "SPAN") and role == "log":
        return Fault("unreadable", "a log says what was measured; tolerances stand in the sheet", "", start, end)
    if "$END" in expected and "REMARK" in expected and kind in ("WORD", "NUMBER", "NUMWORD", "STRING", "OTHER"):
        help = "words behind a complete entry stand in its remark: ` -- " + line[start:].strip() + "`"
        return Fault("text-after-value", f"nothing more can stand here: `{found}`", help, start, end)
    if "WORD" in expected and found.lower() in _CLAUSES:
        help = f"`{found.lower()}` begins a clause and cannot be a name"
        return Fault("reserved-word", f"a name is wanted before `{found}`", help, start, end)
    wanted = _wanted(expected)
    if kind == "$END":
        what = words[0] if words else ""
        message = f"the line ends too early: {wanted} is missing" if wanted else f"`{what}` is not complete"
        return Fault("unreadable", message, _example(role, first[1] if first else ""), start, end)
    message = f"`{found}` cannot stand here" + (f"; here stands {wanted}" if wanted else "")
    return Fault("unreadable", message, _example(role, first[1] if first else ""), start, end)


def comment_fault(line: str) -> Fault | None:
    """A wire size that a blank behind `#` turned into a comment."""
    ate = re.search(r"(?<!\S)#[ \t]+(\d+(?:/0)?)\b(.*)$", line)
    if ate is None:
        return None
    size = ate[1]
    return Fault(
        "comment-ate-size",
        f"`# {size}` with a blank is a comment, so {ate[0].strip()!r} was not read",
        f"was {size} AWG meant? Write `#{size}` or `{size} AWG`",
        ate.start(),
        len(line.rstrip()),
    )


def _type_before_end(line: str) -> str:
    return "COMMENT" if re.search(r"(?<!\S)#[ \t]", line) else ""


def _place(error: UnexpectedInput, line: str) -> tuple[int, int, str]:
    token = getattr(error, "token", None)
    if token is None:  # a character no terminal takes; the catch-all leaves none, but Lark may raise
        start = min(getattr(error, "pos_in_stream", 0) or 0, max(len(line) - 1, 0))
        return start, start + 1, "OTHER"
    if token.type == "$END":
        end = len(line.rstrip(" \t"))
        return max(end - 1, 0), end, "$END"
    return token.start_pos, token.end_pos, token.type


def _unknown_kind(first: re.Match[str], role: str, line: str, start: int, end: int) -> Fault:
    word = first[1].rstrip(".,:;")
    lower = word.lower()
    if lower.startswith(("<<<<", ">>>>", "====")):
        return Fault("unreadable", "a merge marker", "", start, end)
    begins, ends = first.start(1), first.start(1) + len(word)
    if begins > start:  # the time in front of it is what could not be read
        begins, ends = start, end
    if lower in kinds(role):
        time = line[start:end]
        return Fault("bad-time", f"`{time}` is not a time of day", "write it as 08:05", start, end)
    if re.fullmatch(r"\d{1,2}[./]\d{1,2}[./]\d{2,4}|\d{3,4}|\d{1,2}h\d{0,2}", lower):
        return Fault("bad-time", f"`{word}` is neither a date nor a time", "write 2026-03-02 or 08:05", begins, ends)
    for other in ROLES:
        if other != role and lower in kinds(other):
            meant = _MEANT.get(lower, "")
            help = f"in a {role}, write `{meant}`" if meant in kinds(role) else f"put it into a *.{_ending(other)} file"
            return Fault("wrong-file", f"`{word}` belongs in a {other}, and this is a {role}", help, begins, ends)
    nearest = _MEANT.get(lower, "")
    if nearest not in kinds(role):
        close = get_close_matches(lower, kinds(role), 1, 0.5)
        nearest = close[0] if close else ""
    help = f"did you mean `{nearest}`?" if nearest else "an entry begins with its kind: " + ", ".join(kinds(role))
    return Fault("unknown-kind", f"`{word}` is no kind of entry", help, begins, ends)


def _ending(role: str) -> str:
    return "site" if role == "log" else role


def _wanted(expected: Iterable[str]) -> str:
    expected = set(expected)
    if expected.issuperset({"WORD", "DATE", "STRING"}):  # a slot that takes any name
        return "a name"
    found = [word for word, terminals in _WORDS.items() if expected.intersection(terminals)]
    found += [f"`{word}`" for word in ("pre", "click", "not", "by", "with", "at") if word.upper() in expected][:2]
    if len(found) > 4:
        found = found[:4]
    return " or ".join(found)


def _example(role: str, kind: str) -> str:
    example = _EXAMPLES.get((role, kind.lower()), "")
    return f"for example: {example}" if example else ""


_EXAMPLES = {
    ("log", "torque"): "torque bracket-1..4 12.1 12.0 11.9 12.2 Nm with TW3",
    ("log", "hole"): "hole anchor-1..6 12 mm x 62 mm",
    ("log", "reading"): "reading insulation dc-pos/earth >999 Mohm at 500 V",
    ("log", "serial"): "serial module-A..C QX2607-00418 QX2607-00419 QX2607-00420",
    ("log", "swap"): "swap module-B QX2607-00419 -> QX2607-00433",
    ("log", "look"): "look wall-sound ok",
    ("log", "did"): "did fault-lamp waited 75 s",
    ("log", "cable"): "cable battery/inverter 6 mm2 Cu 4.5 m 20 A at 307 V dc capacity 43 A",
    ("log", "dead"): "dead L/N, L/PE 0 V with VT1 proved on PU1 before, after",
    ("log", "device"): "device q2 C 32 A 6 kA",
    ("log", "set"): "set firmware inverter 4.12",
    ("log", "series"): "series discharge trial-1.csv",
    ("log", "use"): "use MF1, TW3",
    ("log", "photo"): 'photo "IMG 2041.jpg" of D1',
    ("log", "received"): 'received owner "Name"',
    ("sheet", "joint"): "joint bracket-1..8 M8 class 8.8 12 Nm +-10 %",
    ("sheet", "hole"): "hole anchor-1..6 12 mm +0.5/-0 x 60 mm +10/-0",
    ("sheet", "reading"): "reading insulation dc-pos/earth >= 1 Mohm at 500 V",
    ("sheet", "part"): 'part module-A..C serial like "QX####-#####"',
    ("sheet", "step"): "step fault-lamp 60 s after breaker-on",
    ("sheet", "cable"): "cable battery/inverter drop <= 1 % size >= 6 mm2",
    ("sheet", "spread"): "spread voltage module-A..C <= 0.5 V before stack-A",
    ("sheet", "rule"): "rule guarded 95 %",
    ("kit", "tool"): "tool TW3 torque-wrench 4..20 Nm +-4 % serial 51007",
    ("kit", "calibrated"): "calibrated TW3 2026-01-15 due 2027-01-15 cert K-2291 found 11.9 Nm at 12 Nm U 0.8 %",
}
"""One right line per kind, shown when a line of that kind cannot be read; a test parses them all."""

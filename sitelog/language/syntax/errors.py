"""From what the parser says of a faulty line to what an installer can use."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING

from sitelog.base.frozen import NamedTuple
from sitelog.language.syntax.grammars import ROLES, kinds
from sitelog.language.syntax.tokens import Fault
from sitelog.notation.moments import looks_like_date, read_clock, read_date
from sitelog.notation.quantities.quantity import Problem

if TYPE_CHECKING:
    from lark.exceptions import UnexpectedInput

# What a terminal is called where people read it, in the order in which they are listed.
_WORDS = {
    "a value with its unit": ("NUMBER", "NUMWORD", "FRACTION", "FEET", "GAUGE", "PAIR", "SPAN", "RANGE"),
    "a name": ("WORD",),
    "a text in quotes": ("STRING",),
    "a date such as 2026-03-02": ("DATE",),
    "a unit": ("PERCENT",),
    "a remark behind ` -- `": ("REMARK",),
}

# Words people use for a kind, where spelling alone would lead elsewhere.
_MEANT = {
    "rd": "reading",
    "read": "reading",
    "measure": "reading",
    "measured": "reading",
    "torqued": "torque",
    "tork": "torque",
    "tighten": "torque",
    "tightened": "torque",
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

# What is named where nothing is near; the words most lines begin with.
_SOME = {
    "log": ("did", "torque", "reading", "look", "serial", "note"),
    "sheet": ("joint", "reading", "look", "step", "part"),
    "kit": ("kit", "tool", "calibrated"),
}


class _Refusal(NamedTuple):
    """Where the grammar stopped in a line: `start` to `end`, from 0, at a token of the type `kind`.

    `word` is the line's first word in small letters, `expected` the types that could have stood there.
    """

    role: str
    line: str
    word: str
    start: int
    end: int
    kind: str
    expected: frozenset[str]

    @property
    def found(self) -> str:
        """The text that was refused."""
        return self.line[self.start : self.end]

    def fault(self, slug: str, message: str, help: str = "") -> Fault:
        """A fault of the text that was refused."""
        return Fault(slug, message, help, self.start, self.end)


def fault_of(error: UnexpectedInput, role: str, line: str) -> Fault:
    """The fault of a line that the grammar refused: where Lark stopped, in words an installer can use.

    `error` needs the refused token (type and place) and what was expected there; `role` is `log`, `sheet` or
    `kit`.
    """
    start, end, kind = _place(error, line)
    first = re.match(r"[ \t]*(?:\d[\d:.\-]*(?:[ \t]*[ap]m)?[ \t]+)*(\S+)", line, re.IGNORECASE)
    word = first[1].lower() if first is not None else ""
    refusal = _Refusal(role, line, word, start, end, kind, frozenset(getattr(error, "expected", ()) or ()))
    if kind != "$END" and (fault := _invisible(refusal)):
        return fault
    if first is not None and start <= first.start(1) and kind != "$END":
        return _unknown_kind(first, refusal)
    return _of_signs(refusal) or _of_numbers(refusal) or _of_words(refusal) or _of_all_else(refusal)


def _invisible(refusal: _Refusal) -> Fault | None:
    invisible = [sign for sign in refusal.found if not sign.isprintable() and sign != "\t"]
    if not invisible:
        return None
    message = f"an invisible character stands here (U+{ord(invisible[0]):04X})"
    return refusal.fault("unreadable", message, "delete it; most editors can show invisible characters")


def _of_signs(refusal: _Refusal) -> Fault | None:
    """A sign that stands where none can: quotes, comments, dashes, what no name can have."""
    _, line, word, start, end, kind, _ = refusal
    found = refusal.found
    if found == '"':
        return refusal.fault("stray-quote", "a quotation mark without its partner", 'close the text with `"`')
    if word in ("cable", "joint") and (fault := comment_fault(line)):
        return fault
    if word == "swap" and found.lower() in ("to", "for", "by", "with"):
        return refusal.fault("unreadable", "a swap is written with an arrow", _example("log", "swap"))
    if fault := _range_in_words(line):
        return fault
    if found in ("-", "–", "‒") and kind != "REMARK":
        help = "a negative number is written as -5; a remark begins with ` -- `"
        message = "a dash before a number is neither a minus sign nor a remark"
        return refusal.fault("unreadable", message, help)
    glued = 0 < start < len(line) and not line[start - 1].isspace() and not found[:1].isalnum()
    if glued and kind not in ("$END", "REMARK", "COMMENT", "COMMA", "STRING"):
        begin = max(line.rfind(" ", 0, start), line.rfind("\t", 0, start)) + 1
        chunk = re.split(r"[ \t]", line[begin:], maxsplit=1)[0]
        if chunk.lower() == word and word.endswith(":"):
            return Fault(
                "unreadable", f"no colon stands behind `{chunk[:-1]}`", "a blank is enough", start, end
            )
        help = "a name has letters, digits and _ . / + -; other text stands in quotes or in the remark"
        return Fault("bad-name", f"`{chunk}` has a `{found[0]}`", help, begin, begin + len(chunk))
    return None


def _of_numbers(refusal: _Refusal) -> Fault | None:
    """A date or a number where none can stand, or written as none is read."""
    role, line, word, start, _, kind, _ = refusal
    found = refusal.found
    if looks_like_date(found) and isinstance(problem := read_date(found), Problem):
        return refusal.fault(problem.slug, problem.message, problem.help)
    if found == "." and (digits := re.match(r"\.\d+", line[start:])):
        return Fault(
            "bad-number",
            f"`{digits[0]}` lacks its nought",
            f"write 0{digits[0]}",
            start,
            start + len(digits[0]),
        )
    before = re.search(r"(?<!\S)(\S+)[ \t]+$", line[:start])
    if kind == "WORD" and before is not None:
        number, at = before[1], before.start(1)
        if re.fullmatch(r"[<>=]*\d{1,3}(?:'\d{3})+(?:[.,]\d+)?", number):
            help = "write " + number.replace("'", "")
            return Fault(
                "thousands-separator", f"`{number}` has a thousands separator", help, at, at + len(number)
            )
        if re.match(r"[<>=]*[+\-]?\d", number) and re.search(r"\d[^\W\d_]+[.,]?\d|\d[.,]?[^\W\d_]+$", number):
            help = "digits with one point, then a blank and the unit; 0 and 1 are not the letters O and l"
            return Fault("bad-number", f"`{number}` is no number", help, at, at + len(number))
    if role == "log" and kind in ("TIME", "DATE"):
        help = f"write `{found} {word} …`"
        return refusal.fault("unreadable", "the day and the time stand in front of the entry", help)
    if role == "log" and kind in ("PM", "SPAN"):
        message = "a log says what was measured; tolerances stand in the sheet"
        return refusal.fault("unreadable", message)
    if role == "log" and kind == "RANGE":
        help = "limits stand in the sheet; in a log, one value per place"
        return refusal.fault("unreadable", f"`{found}` is a span and no value", help)
    if role == "kit" and kind in ("NUMBER", "NUMWORD"):
        return refusal.fault("bad-range", "a tool's range has two ends", "write it as 4..20 Nm")
    return None


# Of a step, `failed` in a remark would stand behind one that counts as done.
_WORDS_BEHIND = {"did": "only a step that was done is written so; of one that was not: `not tested -- why`"}


def _of_words(refusal: _Refusal) -> Fault | None:
    """Loose words behind a complete entry, and words of the language where a name stands."""
    _, line, word, start, _, kind, expected = refusal
    found = refusal.found
    if {"$END", "REMARK"} <= expected and kind in ("WORD", "NUMBER", "NUMWORD", "STRING", "OTHER"):
        rest = re.split(r"[ \t](?:--|—|#[ \t])", line[start:], maxsplit=1)[0].strip()
        if word == "photo":
            message = "a file name with blanks stands in quotes"
            return refusal.fault("text-after-value", message, 'photo "IMG 2041.jpg" of D1')
        if rest and "STRING" in expected:
            return refusal.fault("text-after-value", "text stands in quotes here", f'write "{rest}"')
        help = _WORDS_BEHIND.get(word, f"words behind a complete entry stand in its remark: ` -- {rest}`")
        return refusal.fault("text-after-value", f"nothing more can stand here: `{found}`", help)
    if "WORD" in expected and found.isalpha() and kind not in ("WORD", "OTHER", "$END"):
        help = f"`{found.lower()}` is a word of the language and cannot be a name"
        return refusal.fault("reserved-word", f"a name is wanted before `{found}`", help)
    return None


def _of_all_else(refusal: _Refusal) -> Fault:
    role, line, word, start, end, kind, expected = refusal
    wanted = _wanted(expected)
    if kind == "$END":
        message = f"the line ends too early: {wanted} is missing" if wanted else f"`{word}` is not complete"
    elif kind == "REMARK":
        message = (
            f"the remark begins too early: {wanted} is missing" if wanted else "no remark can stand here"
        )
        end = start + (2 if line.startswith("--", start) else 1)
    elif kind == "NUMWORD" and "WORD" in expected and "NUMBER" not in expected:
        message = f"a place begins with a letter, and `{line[start:end]}` does not"
    else:
        message = f"`{line[start:end]}` cannot stand here" + (f"; here stands {wanted}" if wanted else "")
    return Fault("unreadable", message, _example(role, word), start, end)


def _range_in_words(line: str) -> Fault | None:
    """`bracket 1 to 8`, `bracket-1 to bracket-8`, `bracket-1:8`: what `bracket-1..8` is not written as."""
    between = r"(?:[ \t]+(?:to|bis|thru|through|until|-|–|—)[ \t]+|[–:])"
    found = re.search(rf"(?<![^ \t,])([^\W\d][\w/]*)([- ]?)(\d+){between}(?:\1[- ]?)?(\d+)(?![\w.:])", line)
    if found is None or int(found[3][:9]) >= int(found[4][:9]):
        return None
    meant = f"{found[1]}{found[2].replace(' ', '-')}{found[3]}..{found[4]}"
    message = f"a range of places is written with two dots: {meant}"
    return Fault("bad-range", message, f"write {meant}", found.start(), found.end())


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


def _place(error: UnexpectedInput, line: str) -> tuple[int, int, str]:
    token = getattr(error, "token", None)
    if token is None:  # a character no terminal takes; the catch-all leaves none, but Lark may raise
        start = min(getattr(error, "pos_in_stream", 0) or 0, max(len(line) - 1, 0))
        return start, start + 1, "OTHER"
    if token.type == "$END":
        end = len(line.rstrip(" \t"))
        return max(end - 1, 0), end, "$END"
    return token.start_pos, token.end_pos, token.type


def _unknown_kind(first: re.Match[str], refusal: _Refusal) -> Fault:
    role, line, _, start, end, _, _ = refusal
    word = first[1].rstrip(".,:;") or first[1]
    lower = word.lower()
    if lower.startswith(("<<<<", ">>>>", "====")):
        return refusal.fault("unreadable", "a merge marker")
    begins, ends = first.start(1), first.start(1) + len(word)
    if begins > start:  # the time in front of it is what could not be read
        begins, ends = start, end
    if lower in kinds(role):
        time = line[start:end]
        problem = read_date(time) if looks_like_date(time) else read_clock(time)
        help = problem.help if isinstance(problem, Problem) else "write it as 08:05"
        return refusal.fault("bad-time", f"`{time}` is not a time of day", help)
    if looks_like_date(word) and isinstance(date := read_date(word), Problem):
        return Fault(date.slug, date.message, date.help, begins, ends)
    if re.fullmatch(r"\d{3,4}|\d{1,2}h\d{0,2}", lower) and isinstance(clock := read_clock(lower), Problem):
        return Fault(clock.slug, clock.message, clock.help, begins, ends)
    for other in ROLES:
        if other != role and lower in kinds(other):
            meant = _MEANT.get(lower, "")
            help = (
                f"in a {role}, write `{meant}`"
                if meant in kinds(role)
                else f"put it into a *.{_ending(other)} file"
            )
            return Fault(
                "wrong-file", f"`{word}` belongs in a {other}, and this is a {role}", help, begins, ends
            )
    nearest = _MEANT.get(lower, "")
    if nearest not in kinds(role):
        nearest = _nearest(lower, role) if lower.isalpha() else ""
    some = ", ".join(f"`{kind}`" for kind in _SOME[role])
    help = f"did you mean `{nearest}`?" if nearest else f"an entry begins with a word such as {some}"
    return Fault("unknown-kind", f"`{word}` is no kind of entry", help, begins, ends)


@lru_cache(maxsize=1000)
def _nearest(word: str, role: str) -> str:
    """The kind spelt most like a word, if any is; remembered, for a slip is made again and again."""
    from difflib import get_close_matches  # slow to import, and wanted here only

    close = get_close_matches(word, kinds(role), 1, 0.65)
    return close[0] if close else ""


def _ending(role: str) -> str:
    return "site" if role == "log" else role


def _wanted(expected: Iterable[str]) -> str:
    expected = set(expected)
    if expected.issuperset({"WORD", "DATE", "STRING"}):  # a slot that takes any name
        return "a name"
    found = [word for word, terminals in _WORDS.items() if expected.intersection(terminals)]
    found += [
        f"`{word}`" for word in ("pre", "click", "not", "by", "with", "at") if word.upper() in expected
    ][:2]
    found = found[:4]
    return " or ".join((", ".join(found[:-1]), found[-1]) if len(found) > 2 else found)


def _example(role: str, kind: str) -> str:
    example = example_of(role, kind.lower())
    return f"for example: {example}" if example else ""


def example_of(role: str, word: str) -> str:
    """A line that begins with a word, from the row of its kind; empty where there is none."""
    from sitelog.language.kinds import LOG, SHEET  # which need the syntax to be there first

    row = LOG.get(word) if role == "log" else SHEET.get(word) if role == "sheet" else None
    return row.example if row is not None else _EXAMPLES.get((role, word), "")


_EXAMPLES = {
    ("sheet", "sheet"): 'sheet wallstack-3 revision C "Wall stack"',
    ("sheet", "source"): 'source "guide for wallstack-3, revision C"',
    ("sheet", "retest"): "retest major, danger",
    ("sheet", "rule"): "rule guarded 95 %",
    ("sheet", "same"): "same earth PE ground",
    ("sheet", "based"): "based on wallstack-2",
    ("sheet", "without"): "without joint bracket-8",
    ("sheet", "state"): "state pump-on pump-off",
    ("sheet", "stage"): "stage fixing: delivery, anchor, bracket",
    ("kit", "kit"): "kit van-2",
    ("kit", "tool"): "tool TW3 torque-wrench 4..20 Nm +-4 % serial 51007",
    (
        "kit",
        "calibrated",
    ): "calibrated TW3 2026-01-15 due 2027-01-15 cert K-2291 found 11.9 Nm at 12 Nm U 0.8 %",
}
"""A right line of each kind that has no row: those that speak of a whole sheet or kit, or of a tool."""

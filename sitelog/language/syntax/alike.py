"""What the lexer cannot tell apart, proved from the patterns of the grammar's own terminals.

Two proofs carry the plans of `plans.py`; where one fails, nothing is planned and Lark reads every line.

1. Digits are alike: no pattern names a digit, so a line keeps its tokens when one digit stands for
   another. (`#8` and `#4/0` are the exception: texts with `#` are never folded.)
2. Chunks stand alone: but for remarks, comments and texts in quotes no pattern takes a blank or looks
   past one, and none tells a blank from the line's end. So what stands between two blanks lexes in a
   line as it does alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lark.lexer import TerminalDef

REMARK, COMMENT, STRING, BLANKS = "REMARK", "COMMENT", "STRING", "_BLANKS"

# The terminals that take blanks, as `plans.py` knows them. Whoever changes one in the grammar turns the
# plans off (a test says so) until `plans.py` is made to agree with the new pattern.
TAILS = {
    REMARK: "--.*|—.*|(?<![^ \t])–(?=[ \t]|$).*|(?<![^ \t])-(?=[ \t]|$)(?![ \t]*\\d).*",
    COMMENT: "(?<![^ \t])#(?=[ \t]|$).*",
    STRING: '"[^"]*"',
    BLANKS: "[ \t]+",
}

_ATOM = re.compile(
    r"(?P<group>\(\?(?:[:=!]|<[=!])|[()|])"
    r"|(?P<count>[*+?]|\{\d*,?\d*\})"
    r"|(?P<character>\[\^?\]?(?:\\.|[^\]\\])*\]|\\.|[^\\\[])",
    re.DOTALL,
)
# A look ahead to which a blank, a tab and the end of the line are one.
_TO_BLANK_OR_END = re.compile("\\(\\?=\\[ \t[^\\]\\\\^-]*\\]\\|\\$\\)")
_ANCHORS = frozenset({"^", "$", r"\b", r"\B", r"\A", r"\Z"})


def plannable(terminals: Iterable[TerminalDef], ignored: Iterable[str]) -> bool:
    """Whether both proofs hold for a grammar's terminals."""
    tails: dict[str, str] = {}
    lowest = highest = 0
    for terminal in terminals:
        pattern = terminal.pattern.value
        if terminal.pattern.type == "str":
            pattern = re.escape(pattern)
        if names_digit(pattern) and not _begins_with_hash(pattern):
            return False
        if terminal.name in TAILS:
            tails[terminal.name] = pattern
            lowest = min(lowest or terminal.priority, terminal.priority)
        elif takes_blank(pattern):
            return False
        else:
            highest = max(highest, terminal.priority)
    return tails == TAILS and highest < lowest and BLANKS in ignored


def names_digit(pattern: str) -> bool:
    """Whether a pattern tells one digit from another; true where in doubt.

    A range whose ends are no digits holds all ten or none, and `\\d` and `\\w` hold all. What is left
    to tell digits apart has a digit in its spelling.
    """
    return any(
        kind == "?" or (kind == "character" and re.search(r"[0-9]|\\N", atom) is not None)
        for kind, atom in _atoms(pattern)
    )


def takes_blank(pattern: str) -> bool:
    """Whether a pattern takes a blank, looks past it or tells it from the line's end; true where in doubt."""
    for kind, atom in _atoms(_TO_BLANK_OR_END.sub("", pattern)):
        if kind == "?" or atom in _ANCHORS:
            return True
        if kind == "character" and (re.match(atom, " ") or re.match(atom, "\t")):
            return True
    return False


def _begins_with_hash(pattern: str) -> bool:
    return re.match(r"\\?#(?![*?{])", pattern) is not None and "|" not in pattern


def _atoms(pattern: str) -> Iterable[tuple[str, str]]:
    """The smallest parts of a pattern: (group, count or one character's pattern; `?` where unknown, text)."""
    at = 0
    while at < len(pattern):
        found = _ATOM.match(pattern, at)
        if found is None or found.lastgroup is None:
            yield "?", pattern[at:]
            return
        if found[0] == "(" and pattern.startswith("(?", at):  # a sort of group not known here
            yield "?", pattern[at:]
            return
        yield found.lastgroup, found[0]
        at = found.end()

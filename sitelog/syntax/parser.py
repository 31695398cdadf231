"""Line by line through the grammar: `parse_line` never raises and never loses a word.

The grammars are files of `grammar/`; Lark makes LALR tables of them, which are kept in the folder
named with `use_cache` so that the next start need not make them again.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

from sitelog.grammar_files import grammar_text
from sitelog.syntax.lexing import CLAUSE, KIND, FirstWord
from sitelog.syntax.plain import plain
from sitelog.syntax.tokens import Entry, Fault, Node, Token

if TYPE_CHECKING:
    from lark import Lark, Tree
    from lark import Token as LarkToken

ROLES = ("log", "sheet", "kit")

_cache_folder = ""


def use_cache(folder: str) -> None:
    """Keep the parser's tables in this folder; an empty name keeps them nowhere."""
    global _cache_folder
    _cache_folder = folder


@cache
def grammar(role: str) -> str:
    """The grammar of a `log`, a `sheet` or a `kit`, as Lark reads it."""
    return grammar_text("common.lark") + grammar_text(f"{role}.lark")


@cache
def kinds(role: str) -> tuple[str, ...]:
    """The words that begin an entry in such a file, as the grammar has them."""
    return tuple(re.findall(rf'^{KIND}\w+.*"([^"]+)"i', grammar(role), re.MULTILINE))


@cache
def lark(role: str) -> Lark:
    """The parser of a role's lines."""
    from lark import Lark

    text = grammar(role)
    clauses = frozenset(re.findall(rf"\b{CLAUSE}\w+", text))
    options = {"parser": "lalr", "lexer": "basic", "maybe_placeholders": False}
    if _cache_folder:
        options["cache"] = f"{_cache_folder}/{role}.tables"
    return Lark(text, postlex=FirstWord(clauses), propagate_positions=False, **options)


def parse_line(role: str, text: str, number: int) -> tuple[Entry, tuple[Fault, ...]]:
    """One line of a log, sheet or kit: what it says, and what is the matter with it."""
    from lark.exceptions import UnexpectedInput

    line = plain(text)
    stripped = line.lstrip(" \t")
    if not stripped or stripped[0] == "#":
        return Entry("", number, text, comment=stripped), ()
    start = len(line) - len(stripped)
    if stripped[0] in "-–—":
        fault = Fault(
            "begins-with-dash", "a line begins with a dash", "put it on its own line as `note …`", start, start + 1
        )
        return Entry("?", number, text), (fault,)
    try:
        tree = lark(role).parse(line)
    except UnexpectedInput as error:
        from sitelog.syntax.errors import fault_of

        return Entry("?", number, text), (fault_of(error, role, line),)
    return _entry(tree, number, text, line)


def _entry(tree: Tree[LarkToken], number: int, text: str, line: str) -> tuple[Entry, tuple[Fault, ...]]:
    body = when = None
    remark = comment = ""
    faults: list[Fault] = []
    for child in tree.children:
        if isinstance(child, str):
            start = child.start_pos or 0
            if child.type == "COMMENT":
                comment = text[start:].rstrip()
                continue
            remark = text[start:].lstrip("-–—").strip()
            if child[0] == "-" and not child.startswith("--"):
                faults.append(
                    Fault("single-dash", "a single dash was read as the start of the remark", "", start, start + 1)
                )
        elif child.data == "when":
            when = _node(child)
        else:
            body = _node(child)
    kind = "n/a" if body is not None and body.name == "na" else body.name if body is not None else ""
    if body is None and (when is not None or remark):
        message = "a time with nothing done at it" if not remark else "a remark needs an entry in front of it"
        fault = Fault("begins-with-dash" if remark else "unreadable", message, "write it as `note …`", 0, len(line))
        return Entry("?", number, text), (fault,)
    return Entry(kind, number, text, body, when, remark, comment), tuple(faults)


def _node(tree: Tree[LarkToken]) -> Node:
    return Node(
        str(tree.data),
        tuple(
            Token(child.type, str(child), child.start_pos or 0, child.end_pos or 0)
            if isinstance(child, str)
            else _node(child)
            for child in tree.children
        ),
    )

"""Line by line through the grammar: `parse_line` never raises and never loses a word.

The grammars are files of `grammar/`; Lark makes LALR tables of them, which are kept in the folder
named with `use_cache` so that the next start need not make them again.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cache

from sitelog.base import cache_files
from sitelog.language.syntax.grammars import grammar
from sitelog.language.syntax.kept import Learnt, Raw
from sitelog.language.syntax.lexing import CLAUSE, FirstWord
from sitelog.language.syntax.plans import LarkGrammar, LineParts, LinePlans
from sitelog.language.syntax.tails import Words, free_text
from sitelog.language.syntax.tokens import Entry, Fault, Node, Token
from sitelog.notation.lookalikes import REMARK_DASHES, plain

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from lark import Lark, Tree
    from lark import Token as LarkToken
    from lark.exceptions import UnexpectedInput

_cache_folder = cache_files.kept_in()
_plans: dict[str, LinePlans] = {}
_new = tuple.__new__  # three times as fast as calling a NamedTuple


def use_cache(folder: str) -> None:
    """Keep the parser's tables and plans in this folder; an empty name keeps them nowhere."""
    global _cache_folder
    _cache_folder = folder
    _plans.clear()


def kept_in() -> str:
    """The folder of `use_cache`; empty where nothing is kept."""
    return _cache_folder


def save_plans() -> None:
    """Keep what was learnt of lines in the folder of `use_cache`, so that the next start needs no Lark."""
    for plans in _plans.values():
        plans.save()


def learnt() -> dict[str, Learnt]:
    """By role, what was learnt of lines since the last call; empty where no folder keeps plans."""
    new = {role: plans.learnt() for role, plans in _plans.items()} if _cache_folder else {}
    return {role: known for role, known in new.items() if any(known)}


def learn(new: Mapping[str, Learnt]) -> None:
    """Add what another process got from its `learnt()`, to be saved with what this one learns."""
    for role, known in new.items():
        (_plans.get(role) or _plans_of(role)).learn(known)


@cache
def lark(role: str) -> Lark:
    """The parser of a role's lines, from its tables in the folder of `use_cache` where there are some."""
    from lark import Lark

    text = grammar(role)
    clauses = frozenset(re.findall(rf"\b{CLAUSE}\w+", text))
    options = {"parser": "lalr", "lexer": "basic", "maybe_placeholders": False}
    if _cache_folder:
        options["cache"] = f"{_cache_folder}/{role}.tables"
    return Lark(text, postlex=FirstWord(clauses), propagate_positions=False, **options)


@cache
def _scanner(role: str) -> Callable[[str], Raw | None]:
    """What finds the tokens of a chunk as the parser's own lexer does, before the first word is looked at."""
    from copy import copy

    from lark.exceptions import UnexpectedCharacters
    from lark.lexer import BasicLexer, LexerThread

    conf = copy(lark(role).lexer_conf)
    conf.skip_validation = True  # the parser has compiled each of these patterns already
    lexer = BasicLexer(conf)

    def tokens(chunk: str) -> Raw | None:
        try:
            found = list(LexerThread.from_text(lexer, chunk).lex(None))  # type: ignore[no-untyped-call]
        except UnexpectedCharacters:  # a character that no terminal of this grammar takes
            return None
        return tuple([(str(token.type), token.start_pos or 0, token.end_pos or 0) for token in found])

    return tokens


def parse_line(role: str, text: str, number: int) -> tuple[Entry, tuple[Fault, ...]]:
    """One line of a log, sheet or kit: its entry, and the faults in it. Never raises.

    `role` is `log`, `sheet` or `kit`; `number` is the line's in its file, from 1. The entry's kind is `?`
    where the line can't be read.
    """
    line = plain(text)
    stripped = line.lstrip(" \t")
    if not stripped or stripped[0] in "#" + REMARK_DASHES:
        return _without_entry(text, line, stripped, number)
    plans = _plans.get(role) or _plans_of(role)
    found = plans.read(text, line, number)
    if isinstance(found, Entry):
        return found, ()
    read = _ask_lark(role, line) if found is None else found
    if isinstance(read, LineParts):
        return _entry(read, number, text, line)
    from sitelog.language.syntax.errors import fault_of

    # A refusal remembered has the token and the types wanted, which is all that is looked at.
    refusal: Any = read
    return Entry("?", number, text), (fault_of(refusal, role, line),)


def _without_entry(text: str, line: str, stripped: str, number: int) -> tuple[Entry, tuple[Fault, ...]]:
    if not stripped or stripped[0] == "#":
        return Entry("", number, text, comment=stripped), ()
    start = len(line) - len(stripped)
    help = "put it on its own line as `note …`"
    fault = Fault("begins-with-dash", "a line begins with a dash", help, start, start + 1)
    return Entry("?", number, text), (fault,)


def _plans_of(role: str) -> LinePlans:
    def proved() -> bool:
        from sitelog.language.syntax.alike import plannable

        return plannable(lark(role).terminals, lark(role).lexer_conf.ignore)

    def free() -> dict[str, Words]:
        parser = lark(role)
        hook: Any = parser.options.postlex
        return free_text(parser.rules, [terminal.name for terminal in parser.terminals], hook.further_on)

    grammar = LarkGrammar(
        plannable=proved,
        free=free,
        tokens=lambda chunk: _scanner(role)(chunk),
        tree=lambda line: lark(role).parse(line),
    )
    file = f"{_cache_folder}/{role}.plans" if _cache_folder else ""
    plans = _plans[role] = LinePlans(role, grammar, file)
    return plans


def _ask_lark(role: str, line: str) -> LineParts | UnexpectedInput:
    from lark.exceptions import UnexpectedInput

    try:
        tree = lark(role).parse(line)
    except UnexpectedInput as error:
        return error
    body = when = None
    remark = comment = -1
    for child in tree.children:
        if isinstance(child, str):
            if child.type == "COMMENT":
                comment = child.start_pos or 0
            else:
                remark = child.start_pos or 0
        elif child.data == "when":
            when = _node(child)
        else:
            body = _node(child)
    return LineParts(body, when, remark, comment)


def _entry(parts: LineParts, number: int, text: str, line: str) -> tuple[Entry, tuple[Fault, ...]]:
    body, when, start, _ = parts
    comment = text[parts.comment :].rstrip() if parts.comment >= 0 else ""
    remark = text[start:].lstrip(REMARK_DASHES).strip() if start >= 0 else ""
    faults: tuple[Fault, ...] = ()
    if start >= 0 and line[start] == "-" and not line.startswith("--", start):
        message = "a single dash was read as the start of the remark"
        faults = (Fault("single-dash", message, "", start, start + 1),)
    kind = "n/a" if body is not None and body.name == "na" else body.name if body is not None else ""
    if body is None and (when is not None or remark):
        slug, message = "unreadable", "a time with nothing done at it"
        if remark:
            slug, message = "begins-with-dash", "a remark needs an entry in front of it"
        fault = Fault(slug, message, "write it as `note …`", 0, len(line))
        return Entry("?", number, text), (fault,)
    return _new(Entry, (kind, number, text, body, when, remark, comment)), faults


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

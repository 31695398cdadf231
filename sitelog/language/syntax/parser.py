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
from sitelog.language.syntax.kept import Known, Raw
from sitelog.language.syntax.lexing import CLAUSE, FirstWord
from sitelog.language.syntax.plans import Grammar, Parts, Plans
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
_plans: dict[str, Plans] = {}
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


def learnt() -> dict[str, Known]:
    """By role, what was learnt of lines since this was last asked; nothing where nothing is kept."""
    new = {role: plans.learnt() for role, plans in _plans.items()} if _cache_folder else {}
    return {role: known for role, known in new.items() if any(known)}


def learn(new: Mapping[str, Known]) -> None:
    """Take over what another process told as `learnt`, to be kept with what this one learns."""
    for role, known in new.items():
        (_plans.get(role) or _plans_of(role)).learn(known)


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


@cache
def _scanner(role: str) -> Callable[[str], Raw | None]:
    """What finds the tokens of a chunk as Lark's lexer does, in half the time: it makes no tokens of them."""
    from lark import Token

    hooked: Any = lark(role).parse_interactive("").lexer_thread.lexer
    try:
        lexer = hooked.lexer  # behind the hook, which looks at whole lines
        scans, final, ignored = lexer.scanner._mres, lexer.callback, lexer.ignore_types
    except AttributeError:  # a Lark that is made otherwise inside: it reads every line itself
        return lambda chunk: None

    def tokens(chunk: str) -> Raw | None:
        found: list[tuple[str, int, int]] = []
        at = 0
        while at < len(chunk):
            match = next((match for one in scans if (match := one.match(chunk, at))), None)
            if match is None:  # a character that no terminal of this grammar takes
                return None
            kind = match.lastgroup
            if kind in final:  # words of the language are among the names
                kind = str(final[kind](Token(kind, match[0])).type)
            if kind not in ignored:
                found.append((kind, at, match.end()))
            at = match.end()
        return tuple(found)

    return tokens


def parse_line(role: str, text: str, number: int) -> tuple[Entry, tuple[Fault, ...]]:
    """One line of a log, sheet or kit: what it says, and what is the matter with it."""
    line = plain(text)
    stripped = line.lstrip(" \t")
    if not stripped or stripped[0] in "#" + REMARK_DASHES:
        return _without_entry(text, line, stripped, number)
    plans = _plans.get(role) or _plans_of(role)
    found = plans.read(text, line, number)
    if isinstance(found, Entry):
        return found, ()
    read = _ask_lark(role, line) if found is None else found
    if isinstance(read, Parts):
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


def _plans_of(role: str) -> Plans:
    def proved() -> bool:
        from sitelog.language.syntax.alike import plannable

        return plannable(lark(role).terminals, lark(role).lexer_conf.ignore)

    def free() -> dict[str, Words]:
        parser = lark(role)
        hook: Any = parser.options.postlex
        return free_text(parser.rules, [terminal.name for terminal in parser.terminals], hook.further_on)

    grammar = Grammar(
        plannable=proved,
        free=free,
        tokens=lambda chunk: _scanner(role)(chunk),
        tree=lambda line: lark(role).parse(line),
    )
    file = f"{_cache_folder}/{role}.plans" if _cache_folder else ""
    plans = _plans[role] = Plans(role, grammar, file)
    return plans


def _ask_lark(role: str, line: str) -> Parts | UnexpectedInput:
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
    return Parts(body, when, remark, comment)


def _entry(parts: Parts, number: int, text: str, line: str) -> tuple[Entry, tuple[Fault, ...]]:
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

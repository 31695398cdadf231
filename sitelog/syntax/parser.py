"""Line by line through the grammar: `parse_line` never raises and never loses a word.

The grammars are files of `grammar/`; Lark makes LALR tables of them, which are kept in the folder
named with `use_cache` so that the next start need not make them again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache

from sitelog import kept_files, patterns
from sitelog.syntax.grammars import grammar
from sitelog.syntax.kept import Known, Raw
from sitelog.syntax.lexing import CLAUSE, FirstWord
from sitelog.syntax.plain import plain
from sitelog.syntax.plans import Grammar, Parts, Plans
from sitelog.syntax.tails import Words, free_text
from sitelog.syntax.tokens import Entry, Fault, Node, Token

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from lark import Lark, Tree
    from lark import Token as LarkToken
    from lark.exceptions import UnexpectedInput
    from lark.lexer import Lexer

_cache_folder = kept_files.kept_in()
_plans: dict[str, Plans] = {}


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
    clauses = frozenset(patterns.findall(rf"\b{CLAUSE}\w+", text))
    options = {"parser": "lalr", "lexer": "basic", "maybe_placeholders": False}
    if _cache_folder:
        options["cache"] = f"{_cache_folder}/{role}.tables"
    return Lark(text, postlex=_Hook(clauses), propagate_positions=False, **options)


@cache
def _lexer(role: str) -> Lexer:
    """The lexer of a role's lines alone."""
    lexer: Lexer = lark(role).parse_interactive("").lexer_thread.lexer
    return lexer


class _Hook(FirstWord):
    """The first-word rule, which can be turned off to see what the lexer found."""

    off = False

    def process(self, stream: Iterator[LarkToken]) -> Iterator[LarkToken]:
        """The tokens with their final types, or as they are."""
        return stream if self.off else super().process(stream)


def parse_line(role: str, text: str, number: int) -> tuple[Entry, tuple[Fault, ...]]:
    """One line of a log, sheet or kit: what it says, and what is the matter with it."""
    line = plain(text)
    stripped = line.lstrip(" \t")
    if not stripped or stripped[0] in "#-–—":
        return _without_entry(text, line, stripped, number)
    plans = _plans.get(role) or _plans_of(role)
    found = plans.read(text, line, number)
    if isinstance(found, Entry):
        return found, ()
    read = _ask_lark(role, line) if found is None else found
    if isinstance(read, Parts):
        return _entry(read, number, text, line)
    from sitelog.syntax.errors import fault_of

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
    def tokens(chunk: str) -> Raw | None:
        from lark.exceptions import UnexpectedCharacters
        from lark.lexer import LexerThread

        hook: Any = lark(role).options.postlex
        hook.off = True
        try:
            found: Iterator[LarkToken] = LexerThread.from_text(_lexer(role), chunk).lex(None)  # type: ignore[no-untyped-call]
            return tuple((token.type, token.start_pos or 0, token.end_pos or 0) for token in found)
        except UnexpectedCharacters:  # a character that no terminal of this grammar takes
            return None
        finally:
            hook.off = False

    def proved() -> bool:
        from sitelog.syntax.alike import plannable

        return plannable(lark(role).terminals, lark(role).lexer_conf.ignore)

    def free() -> dict[str, Words]:
        parser = lark(role)
        hook: Any = parser.options.postlex
        return free_text(parser.rules, [terminal.name for terminal in parser.terminals], hook.further_on)

    grammar = Grammar(
        plannable=proved,
        free=free,
        tokens=tokens,
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
    remark = text[start:].lstrip("-–—").strip() if start >= 0 else ""
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
    return Entry(kind, number, text, body, when, remark, comment), faults


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

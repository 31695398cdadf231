"""Free text at the end of an entry: which words it may be made of, read from the rules of the grammar.

`note` takes any words, and a fleet never says the same twice. Rules such as

    note: KIND_NOTE text        text: _any+        _any: WORD | NUMBER | …

make one flat list of whatever stands there. The grammar is LALR without conflicts (a test says so), so no
line has two trees: where one word behind `note` makes a tree, any others of the same list make that tree
with those words in it. So one such line teaches all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from sitelog.language.syntax.lexing import BEFORE_KIND, KIND

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import TypeAlias

    from lark.grammar import Rule

Words: TypeAlias = "dict[str, str]"
"""What free text may be made of: types as they are lexed, each with the one it has in the tree."""

TAIL = "$TAIL"
"""Stands for all words of a free text."""

_ENDS = frozenset({"REMARK", "COMMENT"})


def free_text(
    rules: Iterable[Rule], terminals: Iterable[str], further_on: Callable[[str], str]
) -> dict[str, Words]:
    """By the terminal that begins an entry, the words that may follow it to the end of the entry.

    `further_on` tells the type of a token that is not the first word.
    """
    by_name: dict[str, list[Rule]] = {}
    for rule in rules:
        by_name.setdefault(rule.origin.name, []).append(rule)
    lists: dict[str, Words] = {}
    found: dict[str, Words] = {}
    terminals = list(terminals)
    for rule in [rule for same in by_name.values() for rule in same if len(rule.expansion) == 2]:
        first, text = rule.expansion
        if not first.is_term or not first.name.startswith(KIND) or text.is_term:
            continue
        if text.name not in lists:
            # A gauge is left out: the lexer passes over the `AWG` behind it.
            taken = _flat(text.name, by_name) - {"GAUGE", *_ENDS}
            words = {kind: further_on(kind) for kind in terminals}
            lists[text.name] = {kind: word for kind, word in words.items() if word in taken}
        if lists[text.name]:
            found[first.name] = lists[text.name]
    return found


def tail_of(types: tuple[str, ...], free: dict[str, Words]) -> tuple[int, int]:
    """Where the free text of a line begins and ends among its tokens; twice 0 where it has none."""
    start = 0
    words = None
    for kind in types:
        start += 1
        words = free.get(kind)
        if words is not None or kind not in BEFORE_KIND:
            break
    if words is None:
        return 0, 0
    end = start
    for kind in types[start:]:
        if kind in _ENDS:
            break
        if kind not in words:
            return 0, 0
        end += 1
    return (start, end) if end > start else (0, 0)


def _flat(name: str, by_name: dict[str, list[Rule]]) -> set[str]:
    """The terminals of which a rule is a flat list, one or more of any; none where it is something else.

    Lark makes of `text: _any+` the rules `text: more`, `more: _any` and `more: more _any`, where `more` and
    `_any` are names that begin with `_` and so leave nothing in the tree but their parts.
    """
    rules = by_name.get(name, [])
    if name.startswith("_") or [len(rule.expansion) for rule in rules] != [1] or _is_odd(rules[0]):
        return set()
    more = rules[0].expansion[0].name
    rules = by_name.get(more, [])
    first = {rule.expansion[0].name for rule in rules if len(rule.expansion) == 1}
    next_ = {rule.expansion[1].name for rule in rules if len(rule.expansion) == 2}
    rightly = all(len(rule.expansion) == 1 or rule.expansion[0].name == more for rule in rules)
    if first != next_ or not rightly or len(rules) != 2 * len(first) or any(map(_is_odd, rules)):
        return set()
    choices = [rule for name in first for rule in by_name.get(name, ())]
    if not all(name.startswith("_") for name in (more, *first)) or any(map(_is_odd, choices)):
        return set()
    symbols = [symbol for rule in choices for symbol in rule.expansion]
    # Lark leaves some terminals out of its trees; what is no terminal has no such mark.
    if len(symbols) != len(choices) or any(getattr(symbol, "filter_out", True) for symbol in symbols):
        return set()
    return {symbol.name for symbol in symbols}


def _is_odd(rule: Rule) -> bool:
    """Whether a rule makes a tree other than of its name and its parts."""
    return rule.alias is not None or bool(rule.options.expand1 or rule.options.template_source)

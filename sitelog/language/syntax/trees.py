"""Trees without Lark: the tree of one line, stored as a pattern and built again for others."""

from __future__ import annotations

import re
from collections.abc import Sequence

from sitelog.language.syntax.kept import Shape
from sitelog.language.syntax.tails import Words
from sitelog.language.syntax.tokens import Node, Token

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias

    from lark import Token as LarkToken
    from lark import Tree

Spans: TypeAlias = "list[tuple[int, int]]"

_DIGIT = re.compile("[0-9]")
_new = tuple.__new__  # three times as fast as calling a NamedTuple


def shape_of(tree: Tree[LarkToken], numbers: dict[tuple[int, int], int]) -> Shape | None:
    """A tree with token numbers in place of tokens."""
    body = when = None
    remark = comment = -1
    for child in tree.children:
        try:
            cut = _cut(child, numbers)
        except KeyError:
            return None
        if cut[0] == "REMARK":
            remark = cut[1]
        elif cut[0] == "COMMENT":
            comment = cut[1]
        elif cut[0] == "when":
            when = cut
        else:
            body = cut
    return body, when, remark, comment


def _cut(tree: Tree[LarkToken] | LarkToken, numbers: dict[tuple[int, int], int]) -> tuple[str, Any]:
    if isinstance(tree, str):
        return str(tree.type), numbers[(tree.start_pos or 0, tree.end_pos or 0)]
    return str(tree.data), tuple(_cut(child, numbers) for child in tree.children)


def grown(cut: tuple[str, Any], spans: Spans, line: str) -> Node:
    """The node of a cut tree, with the tokens of this line."""
    name, children = cut
    nodes: list[Node | Token] = []
    for child in children:
        kind, what = child
        if what.__class__ is int:
            start, end = spans[what]
            nodes.append(_new(Token, (kind, line[start:end], start, end)))
        else:
            nodes.append(grown(child, spans, line))
    return _new(Node, (name, tuple(nodes)))


def recipe(node: Node | Token, line: str) -> Node | Token | tuple[Any, ...]:
    """The node itself where no digit is in it; else how to make it: its name, and what it is made of.

    A token is made of its type, start and end; a node of one such token of name, type, start and end.
    """
    if isinstance(node, Token):
        return (node.type, node.start, node.end) if _DIGIT.search(node.text) else node
    parts = tuple(recipe(child, line) for child in node.children)
    if all(isinstance(part, Node | Token) for part in parts):
        return node
    if len(parts) == 1 and len(parts[0]) == 3 and parts[0].__class__ is tuple:
        return (node.name, *parts[0])
    return node.name, parts


def fresh(plan: Sequence[Any], line: str) -> Node:
    """What a recipe makes of a line."""
    if len(plan) == 4:
        name, kind, start, end = plan
        return _new(Node, (name, (_new(Token, (kind, line[start:end], start, end)),)))
    name, parts = plan
    children: list[Node | Token] = []
    for part in parts:
        if part.__class__ is not tuple:
            children.append(part)
        elif len(part) == 4:  # as above; a list of values is made of these
            inner, kind, start, end = part
            children.append(_new(Node, (inner, (_new(Token, (kind, line[start:end], start, end)),))))
        elif len(part) == 3:
            kind, start, end = part
            children.append(_new(Token, (kind, line[start:end], start, end)))
        else:
            children.append(fresh(part, line))
    return _new(Node, (name, tuple(children)))


def with_tail(body: Node, types: Sequence[str], spans: Spans, line: str, words: Words) -> Node:
    """The entry with these words for its free text, which is its last part."""
    first, text = body.children
    tail = [
        _new(Token, (words[kind], line[start:end], start, end))
        for kind, (start, end) in zip(types, spans, strict=True)
    ]
    return _new(Node, (body.name, (first, _new(Node, (text[0], tuple(tail))))))

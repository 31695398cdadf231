"""What the grammar makes of a line, free of the parser that made it."""

from __future__ import annotations

from sitelog.base.frozen import NamedTuple
from sitelog.findings.finding import Span


class Token(NamedTuple):
    """One word or sign: its terminal, its text (look-alikes made plain) and where it stands.

    `start` and `end` count characters of the line from 0; the end is exclusive.
    """

    type: str
    text: str
    start: int
    end: int


class Node(NamedTuple):
    """One rule of the grammar with what it was made of."""

    name: str
    children: tuple[Node | Token, ...]

    @property
    def start(self) -> int:
        """Where it begins in the line, from 0."""
        return self.children[0].start

    @property
    def end(self) -> int:
        """Where it ends in the line, exclusive."""
        return self.children[-1].end

    def child(self, name: str) -> Node | None:
        """Its first part of that name."""
        return next((child for child in self.nodes() if child.name == name), None)

    def nodes(self) -> tuple[Node, ...]:
        """Its parts that are rules, not words."""
        return tuple([child for child in self.children if child.__class__ is Node])

    def tokens(self) -> tuple[Token, ...]:
        """Its words in order."""
        children = self.children
        if len(children) == 1:  # most of them
            first = children[0]
            return (first,) if isinstance(first, Token) else first.tokens()
        found: list[Token] = []
        for child in children:
            if isinstance(child, Token):
                found.append(child)
            else:
                found += child.tokens()
        return tuple(found)


class Fault(NamedTuple):
    """What is the matter with a stretch of a line (from 0, end exclusive), before a file is known."""

    slug: str
    message: str
    help: str
    start: int
    end: int


class Entry(NamedTuple):
    """One line, parsed.

    `kind` is the word that begins it, empty where there is none (a blank line, a comment, a bare
    remark) and `?` where the line could not be read: then its text is all there is.
    """

    kind: str
    number: int
    text: str
    body: Node | None = None
    when: Node | None = None
    remark: str = ""
    comment: str = ""

    @property
    def start(self) -> int:
        """Where the entry's first character stands, from 0."""
        return len(self.text) - len(self.text.lstrip())

    @property
    def end(self) -> int:
        """Where the entry ends, its remark included."""
        return len(self.text.rstrip())

    def span(self, file: str, start: int = -1, end: int = -1) -> Span:
        """A stretch of the line for a finding, given from 0; the whole entry where none is given."""
        if start < 0:
            start, end = self.start, self.end
        return Span(file, self.number, start + 1, max(end, start + 1) + 1, self.text)

"""What the lexer alone cannot tell: that a kind word counts only where an entry begins.

`torque` begins an entry and may still be the name of a step; `serial` begins one entry and is a
clause in another. So a kind terminal further on becomes the clause of the same name where the
grammar declares one, else a plain word.
"""

from __future__ import annotations

from collections.abc import Iterator

TYPE_CHECKING = False
if TYPE_CHECKING:
    from lark import Token

KIND = "KIND_"
CLAUSE = "CLAUSE_"
BEFORE_KIND = frozenset({"DATE", "TIME", "NUMBER", "AM", "PM_"})


class FirstWord:
    """Lark's hook between lexer and parser: lets only the first word be a kind."""

    always_accept: tuple[str, ...] = ()

    def __init__(self, clauses: frozenset[str]) -> None:
        self._clauses = clauses

    def further_on(self, kind: str) -> str:
        """What a token of that type is where it is not the first word."""
        if not kind.startswith(KIND):
            return kind
        clause = CLAUSE + kind[len(KIND) :]
        return clause if clause in self._clauses else "WORD"

    def process(self, stream: Iterator[Token]) -> Iterator[Token]:
        """The tokens with their final types."""
        first = True
        last = ""
        for token in stream:
            kind = token.type
            if kind == "AWG" and last == "GAUGE":
                continue  # `#8 AWG`: the sign has said so
            if not first:
                token.type = self.further_on(kind)
            elif first and kind in ("TIMES", "DC", "AC", "AWG"):
                token.type = "WORD"
            if first and kind not in BEFORE_KIND:
                first = False
            last = kind
            yield token

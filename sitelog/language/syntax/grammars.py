"""The grammars of the three kinds of file, as text, and the words that begin an entry in each."""

from __future__ import annotations

import re
from functools import cache

from sitelog.language.grammar_files import grammar_text
from sitelog.language.syntax.lexing import KIND

ROLES = ("log", "sheet", "kit")


@cache
def grammar(role: str) -> str:
    """The grammar of a `log`, a `sheet` or a `kit`, as Lark reads it."""
    return grammar_text("common.lark") + grammar_text(f"{role}.lark")


@cache
def kinds(role: str) -> tuple[str, ...]:
    """The words that begin an entry in such a file, as the grammar has them."""
    return tuple(re.findall(rf'^{KIND}\w+.*"([^"]+)"i', grammar(role), re.MULTILINE))

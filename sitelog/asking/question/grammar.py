"""The grammar of questions, loaded once, and the keywords it holds."""

from __future__ import annotations

from functools import cache

from sitelog.language.grammar_files import grammar_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from lark import Lark

NAME = "query.lark"

_cache_folder = ""


def use_cache(folder: str) -> None:
    """Keep parsed questions and the parser's tables in this folder; an empty name keeps them nowhere."""
    global _cache_folder
    _cache_folder = folder
    parser.cache_clear()


def cache_folder() -> str:
    """The folder of `use_cache`; empty where nothing is kept."""
    return _cache_folder


@cache
def parser() -> Lark:
    """The LALR parser of questions."""
    from lark import Lark

    options: dict[str, Any] = {"parser": "lalr", "lexer": "basic", "start": "question"}
    if _cache_folder:
        options["cache"] = f"{_cache_folder}/question.tables"
    return Lark(grammar_text(NAME), **options)


@cache
def spellings() -> dict[str, str]:
    """For each keyword terminal of the grammar the way it is written, e.g. `NOT_OK`: `not-ok`."""
    return {
        terminal.name: str(terminal.pattern.value)
        for terminal in parser().terminals
        if terminal.pattern.type == "str"
    }


@cache
def openers(*rules: str) -> frozenset[str]:
    """The terminals with which an expansion of these rules can begin, as far as one does so directly."""
    return frozenset(
        rule.expansion[0].name
        for rule in parser().rules
        if rule.origin.name in rules and rule.expansion and rule.expansion[0].is_term
    )

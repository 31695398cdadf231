"""Why a question could not be read: what stands there, the nearest that could, and what else could."""

from typing import TYPE_CHECKING

from sitelog.asking.question.errors import QuestionError, listed, nearest
from sitelog.asking.question.grammar import openers, spellings

if TYPE_CHECKING:
    from lark import Token, UnexpectedToken

_COMPARISONS = frozenset(
    {"LESS", "LESS_OR_EQUAL", "MORE", "MORE_OR_EQUAL", "EQUAL", "NOT_EQUAL", "IS", "HAS"}
)
_SIGNS = {
    "LESS": "<",
    "LESS_OR_EQUAL": "<=",
    "MORE": ">",
    "MORE_OR_EQUAL": ">=",
    "EQUAL": "=",
    "NOT_EQUAL": "!=",
    "PLUS": "+",
    "MINUS": "-",
    "TIMES": "*",
    "SLASH": "/",
    "_COMMA": ",",
    "_OPEN": "(",
    "_CLOSE": ")",
}

# What belongs behind a word, in plain words: the token before the place of the error decides.
AFTER = {
    "AT": "a site's name, such as `quay-14` or `quay-*`",
    "OF": "a name",
    "IN": "a place, such as `bracket-1..3` or `frame/*`; in a shape a unit (inches are `inch`)",
    "WITH": "a tool's name, such as `TW3`",
    "BY": "the name of one of the crew",
    "FOR": "a visit: install, service or removal",
    "ON": "a day, such as `2026-03-02`, `2026-03`, `today` or `last month`",
    "SINCE": "a day, such as `2026-03-02`, `2026-03`, `today` or `last month`; or `signed`",
    "UNTIL": "a day, such as `2026-03-02`, `2026-03`, `today` or `last month`",
    "BEFORE": "a day, such as `2026-03-02`, `2026-03`, `today` or `last month`",
    "BETWEEN": "a size with its unit, or a day",
    "AS": "`of` and a day, such as `as of 2026-03-02`",
    "HISTORY": "what it is the history of, such as `history joints`",
    "WITHIN": "a number of days, such as `14 days`",
    "OLDER": "`than` and a number of days, such as `than 14 days`",
    "THAN": "a number of days, such as `14 days`",
    "BELOW": "a size with its unit, such as `12 Nm`",
    "ABOVE": "a size with its unit, such as `12 Nm`",
    "WHERE": "a field or a computation on fields",
    "PER": "a field",
    "SHOW": "a field",
    "SORT": "a field",
    "FIRST": "a number of rows",
    "LAST": "`week`, `month`, `quarter` or `year`",
    "THIS": "`week`, `month`, `quarter` or `year`",
    "HAS": 'text, such as `"loose"`',
    "OUT": "`of calibration` or `of order`",
    "COUNT": "what is counted, such as `joints`",
    "SHARE": "what the share is of, such as `share of joints passing`",
}


def unexpected_token(text: str, error: "UnexpectedToken") -> QuestionError:
    """The error for a word that the grammar does not have at its place."""
    token: Token = error.token
    accepted = error.accepts or set()
    before = _token_before(error)
    if token.type == "$END":
        column = len(text) + 1
        return QuestionError("the question stops too early", column, column + 1, _help(before, accepted))
    column = token.column or 1
    word, end = str(token), column + len(token)
    if word == "," and before is not None and before.type == "NUMBER":
        return QuestionError("no comma can stand here", column, end, "write a decimal with a full stop: 12.1")
    if before is None:
        return QuestionError(
            f"a question cannot begin with `{word}`",
            column,
            end,
            "begin with what is asked for, such as `joints` or `count joints`",
        )
    if accepted <= _shapes() | {"$END", "_COMMA", "UP", "DOWN", "IN"} and token.type in _selections():
        return QuestionError(
            f"`{word}` stands too late",
            column,
            end,
            "say first which rows are meant, then `per`, `show`, `sort` and `first`",
        )
    if _is_soft(token, accepted):
        return QuestionError(
            f"`{word}` is a word of questions and cannot be a name here",
            column,
            end,
            f'if it is meant as a name, put it in quotes: `"{word}"`',
        )
    help = _other_words(word, before, accepted) or _help(before, accepted, word)
    return QuestionError(f"`{word}` cannot stand here", column, end, help)


_TIMES = {"after": "since", "from": "since", "till": "until", "to": "until"}


def _other_words(word: str, before: "Token", accepted: set[str]) -> str:
    """What a word that people use for another is here: `after 2026-03-02`, `under torque and pre-only`."""
    if word.casefold() in ("and", ",") and "_OR" in accepted:
        return "states are joined with `or`, and the conditions behind `where` with `and`"
    meant = _TIMES.get(str(before).casefold(), "") if before.type == "WORD" and word[:1].isdigit() else ""
    return f"say `{meant} {word}`" if meant else ""


def unexpected_character(text: str, column: int) -> QuestionError:
    """The error for a character that begins nothing."""
    character = text[column - 1]
    if character == '"':
        return QuestionError("this quote is not closed", column, len(text) + 1, 'put a `"` behind the text')
    return QuestionError(f"`{character}` cannot stand here", column, column + 1, "not equal is written `!=`")


def _selections() -> frozenset[str]:
    return openers("state", "place", "time", "size", "where")


def _shapes() -> frozenset[str]:
    return openers("per", "show", "sort", "first")


def _token_before(error: "UnexpectedToken") -> "Token | None":
    """The token in front of the unexpected one, or None where the question begins with it."""
    from lark import Token, Tree

    stack = error.interactive_parser.parser_state.value_stack if error.interactive_parser else []
    last: object = stack[-1] if stack else None
    while isinstance(last, list | Tree):
        children = [
            child for child in (last if isinstance(last, list) else last.children) if child is not None
        ]
        if not children:
            return None
        last = children[-1]
    return last if isinstance(last, Token) else None


def _is_soft(token: "Token", accepted: set[str]) -> bool:
    """Whether a keyword stands where only a name can."""
    return token.type in spellings() and token.type not in _SIGNS and accepted <= {"WORD", "NUMBER", "STRING"}


def _help(before: "Token | None", accepted: set[str], word: str = "") -> str:
    written = spellings()
    if word.casefold() in ("last", "this", "today", "yesterday") and "ON" in accepted:
        day = f"{word} month" if word.casefold() in ("last", "this") else word
        return f"say `on {day}`, `since {day}` or `until {day}`"
    if word:
        found = nearest(word, [written[name] for name in accepted if name in written])
        if found:
            return f"did you mean `{found}`?"
    if before is not None and before.type in AFTER and (before.type != "OF" or "WORD" in accepted):
        return f"after `{before}` comes {AFTER[before.type]}"
    return "here can stand: " + ", ".join(_kinds_of_words(accepted)) if accepted else ""


def _kinds_of_words(accepted: set[str]) -> list[str]:
    """What the accepted terminals are, in plain words, groups before single words."""
    written = spellings()
    left = set(accepted)
    words: list[str] = []
    if {"WORD", "COUNT"} <= left:  # a field: there the words that are keywords elsewhere can stand too
        left = {name for name in left if name not in written or name in _SIGNS}
    for group, least, name in (
        (openers("state"), 10, "a state such as `under torque` or `missing`"),
        (_selections(), 10, "a selection such as `at`, `in`, `with`, `since` or `where`"),
        (_shapes(), 4, "`per`, `show`, `sort` or `first`"),
        (_COMPARISONS, 5, "a comparison such as `<`, `=`, `is` or `has`"),
    ):
        if len(group & left) >= least:
            left -= group
            words.append(name)
    if "WORD" in left:
        words.insert(0, "a word")
    for name, plain in (("WORD", ""), ("NUMBER", "a number"), ("STRING", "text in quotes"), ("$END", "")):
        if name in left:
            left.discard(name)
            words += [plain] if plain else []
    single = sorted(_SIGNS.get(name, written.get(name, "")) for name in left)
    return words + ([listed(filter(None, single))] if single else [])

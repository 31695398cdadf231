"""Free text read without Lark: rules that are flat lists of words, and nothing else, are taken for such."""

from random import Random

import pytest
from lark import Lark

from sitelog.language.syntax import parse_line, parser
from sitelog.language.syntax.tails import free_text, tail_of
from tests.syntax.plainly import plainly

_LIST = """
start: note
note: KIND_NOTE text
text: _any+
_any: WORD | NUMBER
KIND_NOTE.2: "note"
WORD: /[a-z]+/
NUMBER: /[0-9]+/
%ignore " "
"""


def _found(grammar: str) -> dict[str, set[str]]:
    lark = Lark(grammar, parser="lalr", lexer="basic")
    names = [terminal.name for terminal in lark.terminals]
    return {kind: set(words) for kind, words in free_text(lark.rules, names, lambda kind: kind).items()}


def test_flat_lists_are_found() -> None:
    """A rule of one word and a list of any words is found, with and without the list."""
    assert _found(_LIST) == {"KIND_NOTE": {"WORD", "NUMBER"}}
    assert _found(_LIST.replace("KIND_NOTE text", "KIND_NOTE text?")) == {"KIND_NOTE": {"WORD", "NUMBER"}}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("text: _any+", "text: _any"),
        ("text: _any+", "text: _any+ WORD"),
        ("text: _any+", 'text: _any ("," _any)*'),
        ("text: _any+", "text: WORD NUMBER+"),
        ("text: _any+", "?text: _any+"),
        ("text: _any+", "text: _any+ -> words"),
        ("text: _any+", "text: any+\nany: WORD"),
        ("_any: WORD | NUMBER", 'any: WORD | NUMBER\n_any: any | "%"'),
        ("_any: WORD | NUMBER", "_any: WORD | NUMBER NUMBER"),
        ("_any: WORD | NUMBER", '_any: WORD | ","'),
        ("KIND_NOTE text", "KIND_NOTE text NUMBER NUMBER"),
        ("KIND_NOTE text", "WORD text"),
    ],
)
def test_other_rules_are_no_free_text(old: str, new: str) -> None:
    """Lists of more than single words, with signs left out, of other names, or not at the end."""
    assert _LIST.count(old) == 1
    assert _found(_LIST.replace(old, new)) == {}


def test_free_text_of_a_log() -> None:
    """The kinds of a log that take any words are those whose rule says so; sheets and kits have none."""
    rules = {"day", "scan", "defect", "note", "todo", "done", "away", "back", "strike", "sign"}
    assert set(parser._plans_of("log")._grammar.free()) == {f"KIND_{rule.upper()}" for rule in rules}
    assert parser._plans_of("sheet")._grammar.free() == {}
    assert parser._plans_of("kit")._grammar.free() == {}


def test_where_the_text_stands() -> None:
    """From the word behind the first one to the remark; nowhere if a word is not known or none is there."""
    free = {"KIND_NOTE": {"WORD": "WORD", "NUMBER": "NUMBER"}}
    assert tail_of(("TIME", "KIND_NOTE", "WORD", "NUMBER", "REMARK"), free) == (2, 4)
    assert tail_of(("KIND_NOTE", "NUMBER"), free) == (1, 2)
    for types in (
        (),
        ("KIND_NOTE",),
        ("KIND_NOTE", "COMMENT"),
        ("KIND_NOTE", "WORD", "GAUGE"),
        ("WORD", "KIND_NOTE", "WORD"),
        ("KIND_DID", "WORD"),
        ("TIME",),
    ):
        assert tail_of(types, free) == (0, 0)


def test_any_words_of_a_note_need_no_lark(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once a note was read, notes of known words in any order are read without Lark, and as it reads them."""
    pieces = ["the", "4", "of", "12Nm", "with", "torque", "note:", "(left)", "3/4", "x", "1..2", "by,", "not"]
    parser._plans.clear()
    parse_line("log", f"08:00 note {' '.join(pieces)}", 1)
    parse_line("log", "08:00 note off -- so", 1)
    random = Random(4)
    said = [" ".join(random.choices(pieces, k=random.randint(1, 9))) for _ in range(200)]
    lines = [f"09:{at % 60:02} note {words}{' -- so it is' * (at % 2)}" for at, words in enumerate(said)]
    expected = [plainly("log", line, 1) for line in lines]
    monkeypatch.setattr(parser, "lark", lambda role: pytest.fail("Lark was asked"))
    assert [parse_line("log", line, 1) for line in lines] == expected
    assert {entry.kind for entry, _ in expected} == {"note"}

"""The proofs that plans rest on, held against Python's own regular expressions."""

import re
from random import Random
from typing import NamedTuple

import pytest

from sitelog.language.syntax import parser
from sitelog.language.syntax.alike import BLANKS, TAILS, names_digit, plannable, takes_blank
from sitelog.language.syntax.grammars import ROLES


class _Pattern(NamedTuple):
    type: str
    value: str


class _Terminal(NamedTuple):
    name: str
    pattern: _Pattern
    priority: int


_GOOD = [_Terminal(name, _Pattern("re", pattern), 30) for name, pattern in TAILS.items()]


@pytest.mark.parametrize(
    "pattern", [r"\d{2,3}", r"[\w.]+", "a|b", r"[!-~]x", r"\d+(?![\w/])", r"[+\-]?\d{,4}"]
)
def test_digits_alike(pattern: str) -> None:
    """No digit is named; Python agrees on random texts with their digits exchanged."""
    assert not names_digit(pattern)
    random = Random(pattern)
    for _ in range(300):
        text = "".join(random.choices("019ab .-/!~x", k=6))
        other = re.sub("[0-9]", lambda _: str(random.randrange(10)), text)
        found, again = re.match(pattern, text), re.match(pattern, other)
        assert (found is None) == (again is None)
        assert found is None or again is None or found.span() == again.span()


@pytest.mark.parametrize(
    "pattern", [r"\/0", "[1-9]", r"x\x30", r"(a)\1", "[a0]", r"\N{DIGIT ONE}", r"(?P<a>x)(?P=a)"]
)
def test_digits_named(pattern: str) -> None:
    """A pattern that may tell digits apart is not passed."""
    assert names_digit(pattern)


@pytest.mark.parametrize(
    "pattern", [r"\w+", "[^ \t]", "\\d+(?=[ \t,]|$)", r"a(?!-[->])", "(?<![^ \t])a", r"a\+|\(b"]
)
def test_stands_alone(pattern: str) -> None:
    """No blank is taken or looked past; Python finds the same with a blank, a tab or nothing behind."""
    assert not takes_blank(pattern)
    random = Random(pattern)
    for _ in range(300):
        chunk = "".join(random.choices("a1,b-+(>", k=4))
        found = {
            None if match is None else match.end()
            for behind in ("", " ", "\t", " x", " 1", "\t-", "  ,")
            for match in [re.compile(pattern).match(f" {chunk}{behind}", 1)]
        }
        assert len(found) == 1


@pytest.mark.parametrize(
    "pattern",
    [
        " ",
        r"\s",
        "a.",
        "[^a]",
        r"\W",
        r"\D",
        "a(?![ \t]*b)",
        "a$",
        r"a\b",
        "(?=[ \t])a",
        "(?=[ ,]|$)a",
        "(?i:a)",
        "[\t-z]",
    ],
)
def test_does_not_stand_alone(pattern: str) -> None:
    """A pattern that may see beyond its chunk is not passed."""
    assert takes_blank(pattern)


def test_grammars_are_plannable() -> None:
    """The three grammars hold to both proofs."""
    folder = parser.kept_in()
    parser.use_cache("")  # a parser made from kept tables does not say what it ignores
    parser.lark.cache_clear()
    for role in ROLES:
        lark = parser.lark(role)
        assert plannable(lark.terminals, lark.ignore_tokens)
    parser.use_cache(folder)


def test_unprovable_grammars() -> None:
    """One terminal that tells digits apart, takes blanks or goes before the remark turns plans off."""
    ignored = [BLANKS]
    assert plannable(_GOOD, ignored)
    assert plannable([*_GOOD, _Terminal("GAUGE", _Pattern("re", r"#\d+(?:\/0)?"), 20)], ignored)
    assert plannable([*_GOOD, _Terminal("STAR", _Pattern("str", "*"), 20)], ignored)
    for bad in (
        _Terminal("ZERO", _Pattern("str", "0"), 20),
        _Terminal("EVEN", _Pattern("re", "[02468]"), 20),
        _Terminal("TWO_WORDS", _Pattern("str", "not ok"), 20),
        _Terminal("ALL", _Pattern("re", "x.*"), 20),
        _Terminal("EAGER", _Pattern("re", r"\w"), 31),
    ):
        assert not plannable([*_GOOD, bad], ignored)
    assert not plannable(_GOOD[1:], ignored)
    assert not plannable(_GOOD, [])
    assert not plannable([_GOOD[0]._replace(pattern=_Pattern("re", ";.*")), *_GOOD[1:]], ignored)

"""The grammars: without conflicts, without a terminal that free text forgets, and at one with the kinds."""

import pytest
from lark import Lark

from sitelog.files.records import read_kit, read_log, read_sheet
from sitelog.files.source import from_bytes
from sitelog.language.kinds import KIT, LOG, SHEET
from sitelog.language.syntax import grammar, kinds, parse_line
from sitelog.language.syntax.errors import _MEANT, _SOME, example_of
from sitelog.language.syntax.grammars import ROLES
from sitelog.language.syntax.lexing import CLAUSE, KIND
from sitelog.language.syntax.parser import lark

TABLES = {"log": LOG, "sheet": SHEET, "kit": KIT}
# What says something of the whole sheet or kit, and asks for nothing itself: read by sitelog.files.records.
WHOLE_FILE = {
    "log": (),
    "sheet": ("sheet", "source", "rule", "same", "based", "without", "state", "retest", "stage"),
    "kit": ("kit",),
}
READ = {"log": read_log, "sheet": read_sheet, "kit": read_kit}
ENDINGS = {"log": "a.site", "sheet": "a.sheet", "kit": "a.kit"}


def alternatives(role: str, rule: str) -> set[str]:
    """The single symbols that a rule can be, as Lark has them."""
    return {one.expansion[0].name for one in lark(role).rules if one.origin.name == rule}


@pytest.mark.parametrize("role", ROLES)
def test_no_conflicts(role: str) -> None:
    """Lark's strict mode: no shift/reduce conflict, and no two terminals of one priority that collide."""
    assert Lark(grammar(role), parser="lalr", lexer="basic", strict=True).terminals


def test_free_text_takes_every_terminal() -> None:
    """A word that free text forgets would make `note` unreadable on the day someone writes it."""
    tails = {"REMARK", "COMMENT"}  # these end the text
    ignored = {"_BLANKS", "STOP"}
    kind_words = {one.name for one in lark("log").terminals if one.name.startswith(KIND)}  # lexing.py: words
    declared = {"CLAUSE_REF"}
    known = {one.name for one in lark("log").terminals} | declared
    assert known - tails - ignored - kind_words == alternatives("log", "_any")


@pytest.mark.parametrize("role", ROLES)
def test_every_kind_word_is_free_text(role: str) -> None:
    """A kind word further on is a word, or the clause declared under its name."""
    clauses = {word for word in kinds(role) if f"{CLAUSE}{word.upper()}" in grammar(role)}
    assert clauses == {"log": {"ref"}, "sheet": {"source"}, "kit": set()}[role]
    for word in kinds("log"):
        entry, faults = parse_line("log", f"note {word} and {word.upper()}", 1)
        assert (entry.kind, faults) == ("note", ())
        assert entry.body is not None
        assert [token.type for token in entry.body.tokens()][1] in ("WORD", "CLAUSE_REF")


@pytest.mark.parametrize("role", ROLES)
def test_kinds_and_readers_are_the_same(role: str) -> None:
    """Every rule below `entry` has a reader, and every reader a rule."""
    rules = {name.replace("na", "n/a") if name == "na" else name for name in alternatives(role, "entry")}
    assert rules == set(TABLES[role]) | set(WHOLE_FILE[role])
    assert set(kinds(role)) == rules


@pytest.mark.parametrize("role", ROLES)
def test_examples(role: str) -> None:
    """The example shown where a line of a kind cannot be read is itself read, without a word against it."""
    for kind in kinds(role):
        line = example_of(role, kind)
        assert line
        entry, faults = parse_line(role, line, 1)
        assert (entry.kind, faults) == (kind, ())
        assert READ[role](from_bytes(_whole(role, kind, line).encode(), ENDINGS[role])).findings == (), line


@pytest.mark.parametrize("kind", WHOLE_FILE["sheet"][1:])
def test_what_says_something_of_the_sheet_is_kept(kind: str) -> None:
    """Each such line changes the sheet that is read."""
    line = example_of("sheet", kind)
    without, with_it = (
        read_sheet(from_bytes(f"sheet s\n{more}\n".encode(), "a.sheet")) for more in ("", line)
    )
    assert without != with_it


def _whole(role: str, kind: str, line: str) -> str:
    """The line in the least file in which nothing is missing."""
    first = {"log": "site s", "sheet": "sheet s", "kit": "kit s\ntool TW3 torque-wrench 4..20 Nm"}[role]
    if kind in first.split() and kind != "tool":
        first = ""
    elif kind == "tool":
        first = "kit s"
    return f"{first}\n{line}\n".lstrip("\n")


def test_words_that_are_meant() -> None:
    """What an unknown first word is said to mean is a kind; what is named as common, a kind of that file."""
    assert set(_MEANT.values()) <= {kind for role in ROLES for kind in kinds(role)}
    for role in ROLES:
        assert set(_SOME[role]) <= set(kinds(role))


@pytest.mark.parametrize("role", ROLES)
def test_kind_words_in_any_case(role: str) -> None:
    """`TORQUE` and `Torque` are `torque`; the rest of the line keeps its letters."""
    for kind in kinds(role):
        line = example_of(role, kind)
        entry, faults = parse_line(role, line.replace(kind, kind.upper(), 1), 1)
        assert (entry.kind, faults) == (kind, ())

"""Reading from plans gives what plain Lark gives: entries, trees, remarks, faults and every position.

The reference is Lark itself (its LALR parser on the same grammar), line by line.
"""

import os
import re
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark.lexer import LexerThread

from sitelog.language.syntax import Entry, Fault, kinds, parse_line, parser, plans
from sitelog.language.syntax.grammars import ROLES
from tests.bench.fleet import KIT, SHEET, logs
from tests.syntax.plainly import plainly

LINES = int(os.environ.get("SITELOG_TEST_LINES", "21000"))
"""Lines compared; set the variable to compare more."""

_ROOT = Path(__file__).parents[2]

# Pieces that lines are made of, the awkward ones above all: what begins a remark and what only seems to,
# quotes in every place, gauges, digits of other scripts, look-alikes, signs, characters no line should hold.
_AWKWARD = (
    '-- loose|--|—|– so|–|-|- 5|- so|-5|#|# 8|#8|#4/0|#4/1|#10 AWG|AWG|--8|TW3|TW3--|TW3-- note|TW3—|'
    'bracket-1..8|module-A..C|q2.Ia|L/N|dc-pos/earth|a--b|+--|+-|"|""|"a -- b"|"north wall"|'
    '"IMG 2041.jpg"|"a"b|a"b|5"|1/2"|3\'2"|3\'|5 "|"#8"|“x y”|12|12.1|12,1|1,000|+0.5/-0|0..999|12Nm|'
    '12x62|12x62mm|12 x 62 mm|0.08|>999|<=2/3|1-1/2|08:05|8:05|8:05pm|am|pm|0930|9.3|2026-03-02|3/2/2026|'
    '10-00|٣|12٣|²|mm²|1²|½|Nm|mm2|MΩ|V|dc|ac|%|°C|x|×|*|/|->|-->|→|=|>=|(|)|:|,|.|...|a.|mo,|___|__|?|;|'
    '\\|\'|\xa0|\u2009|\u200b|\x00|\x1d|\x0d|\x0a|\ufeff|\ud800|🔧|with|by|at|of|on|from|to|not|and|pre|'
    'click|held|moved|while|after|before|proved|waited|source|serial|like|class|revision|guarded|every|'
    'per|due|found|cert|U'
)  # fmt: skip
_PIECES = _AWKWARD.split("|")
_BLANKS = (" ", " ", " ", "  ", "\t", "", " \t ")


def _from_files() -> dict[str, list[str]]:
    ending = {"log": "site", "sheet": "sheet", "kit": "kit"}
    folders = (_ROOT / "example_logs", _ROOT / "tests" / "practice")
    found = {"log": [], "sheet": SHEET.split("\n"), "kit": KIT.split("\n")}
    for role, end in ending.items():
        for folder in folders:
            for path in sorted(folder.rglob(f"*.{end}")):
                found[role] += path.read_text(encoding="utf-8").split("\n")
    found["log"] += [line for log in logs(1000, seed=5) for line in log]
    return found


_WRITTEN = _from_files()


@pytest.fixture(autouse=True)
def _nothing_kept() -> None:
    """A command that another test ran in this process keeps what it learns in a folder, and reads that."""
    if parser.kept_in():
        parser.use_cache("")


def _other_digits(random: Random, line: str) -> str:
    return re.sub("[0-9]", lambda _: str(random.randrange(10)), line)


def _made_up(random: Random, role: str) -> str:
    """A line of awkward pieces: one thrown together, or a written one with a piece put in or taken out."""
    if random.random() < 0.5:
        words = [random.choice(kinds(role))] if random.random() < 0.9 else []
        words += random.choices(_PIECES, k=random.randrange(7))
    else:
        words = random.choice(_WRITTEN[role]).split(" ")
        at = random.randrange(len(words))
        words[at : at + random.randrange(2)] = random.choices(_PIECES, k=random.randrange(1, 3))
    return "".join(word + random.choice(_BLANKS) for word in words)


def _lines(count: int) -> Iterator[tuple[str, str]]:
    random = Random(20261125)
    fleet = [line for log in logs(count // 3, seed=3, faulty=4) for line in log][: count // 3]
    yield from (("log", line) for line in fleet)
    for number in range(count // 3):
        role = ("log", "log", "sheet", "kit")[number % 4]
        line = _made_up(random, role)
        yield role, line
        yield role, _other_digits(random, line)


def _must_agree(role: str, line: str) -> tuple[Entry, tuple[Fault, ...]]:
    expected = plainly(role, line, 7)
    for _ in range(2):  # the first reading makes a plan, the second uses it
        read = parse_line(role, line, 7)
        assert read == expected, (role, line)
        assert repr(read) == repr(expected), (
            role,
            line,
        )  # a tuple and a Token may be equal, but not so shown
    return expected


@pytest.fixture(autouse=True)
def _fresh_plans() -> Iterator[None]:
    parser._plans.clear()
    yield
    parser._plans.clear()


def test_as_lark_reads() -> None:
    """Thousands of lines, right and wrong, awkward ones among them."""
    count = faulty = 0
    for role, line in _lines(LINES):
        entry, _ = _must_agree(role, line)
        count += 1
        faulty += entry.kind == "?"
    assert count >= LINES - 3
    assert count // 5 < faulty < count * 4 // 5  # neither sort is missing


@settings(max_examples=400, deadline=None)
@given(
    role=st.sampled_from(ROLES),
    pieces=st.lists(
        st.tuples(st.sampled_from(_PIECES) | st.text(max_size=6), st.sampled_from(_BLANKS)), max_size=8
    ),
    kind=st.integers(0, 200),
    digits=st.randoms(use_true_random=False),
)
def test_as_lark_reads_anything(role: str, pieces: list[tuple[str, str]], kind: int, digits: Random) -> None:
    """Whatever text: the same, and the same again with other digits."""
    words = kinds(role)
    line = words[kind % len(words)] + " " + "".join(piece + blank for piece, blank in pieces)
    _must_agree(role, line)
    _must_agree(role, _other_digits(digits, line))


@pytest.mark.parametrize(
    "line",
    [
        "torque b-1 12 Nm with TW3-- note",
        "torque b-1 12 Nm with TW3\t-- note",
        "torque b-1 12 Nm with TW3 -- note",
        'look wall "a -- b" ok -- c',
        'look wall "a -- b ok -- c',
        'look wall ok -- "c',
        "cable a/b #4/0 Cu -- fat",
        "cable a/b #4/1 Cu -- fat",
        "cable a/b # 4 Cu -- fat",
        "did x – so -- and so",
        "did x - so -- and so",
        "did x - 5 -- and so",
        "did x -  -- and so",
        "did x -- two\nlines",
        "did x +-- so",
        "-- bare",
        "08:05 -- bare",
        "08:05",
        ". -- bare",
        "",
    ],
)
def test_traps(line: str) -> None:
    """Lines on which an idea of reading in pieces can fail, each read after its neighbours."""
    for variant in (line, line.replace("--", "-- other"), line.replace("4", "8"), line + " ", line + " 1"):
        _must_agree("log", variant)


def test_plans_are_on() -> None:
    """The grammars are such that plans can be made; a change of theirs that forbids it is noticed here."""
    for role in ROLES:
        parse_line(role, f"{kinds(role)[0]} a-1 b", 1)
        assert parser._plans[role]._allowed is True


def test_same_line_other_digits_needs_no_lark(monkeypatch: pytest.MonkeyPatch) -> None:
    """A line like one read before is read without Lark, with its own words; so is one of known pieces."""
    parse_line("log", "09:20 torque b-1..2 12.1 12.0 Nm by jp -- first", 1)
    monkeypatch.setattr(parser, "lark", lambda role: pytest.fail("Lark was asked"))
    entry, faults = parse_line("log", "14:37 torque b-3..4 10.8 11.3 Nm by jp -- second", 2)
    assert not faults
    assert entry.body is not None
    assert [token.text for token in entry.body.tokens()] == [
        "torque",
        "b-3..4",
        "10.8",
        "11.3",
        "Nm",
        "by",
        "jp",
    ]
    assert entry.remark == "second"
    spaced, _ = parse_line("log", "14:37   torque b-3..4   10.8  11.3 Nm   by jp  -- third", 3)
    assert spaced.body is not None
    assert [token.text for token in spaced.body.tokens()] == [token.text for token in entry.body.tokens()]


def test_refusals_need_no_lark(monkeypatch: pytest.MonkeyPatch) -> None:
    """A faulty line like one read before has its own fault, at its own place, without Lark."""
    _, (first,) = parse_line("log", "09:20 torque b-1 12 Nm fine now", 1)
    monkeypatch.setattr(parser, "lark", lambda role: pytest.fail("Lark was asked"))
    _, (second,) = parse_line("log", "14:55   torque b-7 13 Nm fine now", 2)
    assert (first.slug, first.start, first.end) == ("text-after-value", 23, 27)
    assert (second.slug, second.start, second.end) == ("text-after-value", 25, 29)
    assert second.message == first.message


def test_memory_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many sorts of lines come, no more than the caps are remembered, and nothing is read wrongly."""
    for cap in ("MOST_LINES", "MOST_CHUNKS", "MOST_SHAPES", "MOST_WHENS"):
        monkeypatch.setattr(plans, cap, 20)
    for log in logs(400, seed=11, faulty=5):
        for line in log:
            _must_agree("log", line)
            made = parser._plans.get("log")
            parts = () if made is None else (made._lines, made._once, made._words, made._whens, *made._known)
            assert max(map(len, parts), default=0) <= 20


def test_free_text_is_not_remembered_as_lines() -> None:
    """A thousand different notes and remarks make a handful of plans of whole lines."""
    random = Random(9)
    for number in range(1000):
        said = " ".join("".join(random.choices("abcdefg", k=5)) for _ in range(4))
        for line in (
            f"note {said}",
            f"did delivery -- {said}",
            f'look wall not "{said}"',
            f"defect D{number} minor {said}",
        ):
            parse_line("log", line, number)
    assert len(parser._plans["log"]._lines) < 20


def test_chunks_as_lark_finds_them() -> None:
    """A chunk has the tokens that Lark's own lexer finds in it; a character that is none, none."""
    random = Random(12)
    lark = parser.lark("log")
    lexer: Any = lark.parse_interactive("").lexer_thread.lexer
    lexer = lexer.lexer  # without the hook that looks at whole lines
    signs = "abcdefnotwithmmΩµx0123456789.,:/+-_%°'*<>=()§"
    scan = parser._scanner("log")
    for _ in range(20_000):
        chunk = "".join(random.choices(signs, k=random.randint(1, 9)))
        thread = LexerThread.from_text(lexer, chunk)  # type: ignore[no-untyped-call]
        found = tuple((token.type, token.start_pos, token.end_pos) for token in thread.lex(None))
        assert scan(chunk) == found

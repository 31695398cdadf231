"""Random questions: only QuestionError is ever raised, and all SQL runs; text never becomes SQL."""

import random
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sitelog.asking.question import dimensions
from sitelog.asking.question.compiler import compile
from sitelog.asking.question.errors import QuestionError
from sitelog.asking.question.grammar import spellings
from sitelog.asking.question.request import request_of
from sitelog.asking.store import Store
from sitelog.asking.store.answer import answer_from
from sitelog.asking.subjects import HISTORIES, SUBJECTS
from sitelog.notation.quantities import KINDS, Quantity
from tests.ask.data import TODAY, stored_rows

_FIELDS = sorted({column.name for subject in SUBJECTS.values() for column in subject.all_columns})
_WORDS = [
    *sorted(spellings().values()),
    *SUBJECTS,
    *_FIELDS,
    "tool.due",
    "site.ready",
    "quay-14",
    "TW3",
    "mo",
    "bracket-1..3",
    "frame/*",
    "insulation",
    "12 Nm",
    "0.9",
    "5 V",
    "10 %",
    "2 MΩ",
    "25 degC",
    "2026-03",
    "30 days",
    '"x y"',
    ",",
    "(",
    ")",
    "<",
    "<=",
    "=",
    "!=",
    ">",
    "10%",
    "2.3.9",
    "2026",
    "-4",
    "99999999999999999999999",
]

# Sentences that mostly parse, so that the compiler sees many of them too.
_OPERANDS = st.sampled_from(
    [
        *_FIELDS,
        "tool.due",
        "tool.uses",
        "12 Nm",
        "5 V",
        "0.9",
        "10 %",
        "3 K",
        "2026-03",
        "TW3",
        "30 days",
        "today",
        '"a"',
    ]
)
_SUMS = st.recursive(
    _OPERANDS,
    lambda inner: st.builds("({} {} {})".format, inner, st.sampled_from(list("+-*/")), inner),
    max_leaves=4,
)
_TESTS = st.one_of(
    st.builds("{} {} {}".format, _SUMS, st.sampled_from(["<", "<=", ">", ">=", "=", "!="]), _SUMS),
    st.builds("{} between {} and {}".format, _SUMS, _SUMS, _SUMS),
    st.builds("{} in ({}, {})".format, _SUMS, _OPERANDS, _OPERANDS),
    st.builds("{} is not {}".format, _SUMS, st.one_of(st.just("none"), _OPERANDS)),
    st.builds("{} has {}".format, _SUMS, _OPERANDS),
)
_CONDITIONS = st.recursive(
    _TESTS,
    lambda inner: st.one_of(
        st.builds("({} and {})".format, inner, inner),
        st.builds("({} or {})".format, inner, inner),
        st.builds("not {}".format, inner),
    ),
    max_leaves=3,
)
_HEADS = st.sampled_from(
    [
        "",
        "count ",
        "share of ",
        *(
            f"{name} {field} of "
            for name in ("sum", "least", "mean", "median", "spread", "greatest", "oldest")
            for field in ("value", "uses", "margin", "depth", "day")
        ),
    ]
)
_SUBJECTS = [*SUBJECTS, *(f"history {name}" for name in HISTORIES)]
_SELECTIONS = st.sampled_from(
    [
        "",
        " under torque or not passing",
        " at quay-*",
        " in bracket",
        " since 2026",
        " below 12 Nm",
        " struck or replaced",
        " as of 2026-03",
        " due within 9 days",
    ]
)
_SHAPES = st.sampled_from(
    ["", " per site", " per value", " show value in in-lb", " sort value down first 3", " per by sort count"]
)
_SENTENCES = st.builds(
    "{}{}{} where {}{}".format, _HEADS, st.sampled_from(_SUBJECTS), _SELECTIONS, _CONDITIONS, _SHAPES
)


@pytest.fixture(scope="module")
def store() -> Iterator[Store]:
    """The invented sites."""
    with Store() as made:
        for subject, rows in stored_rows().items():
            made.add(subject, rows)
        yield made


def _refusal(store: Store, question: str) -> QuestionError | None:
    """Why a question has no answer; anything but QuestionError passes through and fails the test."""
    try:
        answer_from(store, question, TODAY)
    except QuestionError as error:
        return error
    return None


def _ask(store: Store, question: str) -> bool:
    """Whether the question has an answer."""
    return _refusal(store, question) is None


_FEW = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@_FEW
@given(words=st.lists(st.sampled_from(_WORDS), max_size=12))
def test_word_soup(store: Store, words: list[str]) -> None:
    """Any words in any order are answered or refused with a place in the question."""
    question = " ".join(words)
    error = _refusal(store, question)
    if error is not None:
        assert 1 <= error.column < error.end_column <= max(len(question), 1) + 2
        assert error.message


@_FEW
@given(question=_SENTENCES)
def test_sentences(store: Store, question: str) -> None:
    """What compiles also runs."""
    _ask(store, question)


@_FEW
@given(question=st.text(max_size=40))
def test_any_text(store: Store, question: str) -> None:
    """Text of any characters is refused, never a crash."""
    _ask(store, question)


_KINDS = sorted(KINDS)
_OF_ONE_KIND = st.sampled_from(
    [*(f"{number} {unit}".rstrip() for unit in KINDS.values() for number in ("0", "-2", "200", "1e300")),
     "value", "previous", "low", "margin", "day", "today", "time", "what", "tool.due"]
)  # fmt: skip
_ARITHMETIC = st.recursive(
    _OF_ONE_KIND,
    lambda inner: st.builds("({} {} {})".format, inner, st.sampled_from(list("+-*/")), inner),
    max_leaves=5,
)


@pytest.fixture(scope="module")
def kinds() -> Iterator[Store]:
    """A reading of each kind of quantity, called as the kind."""
    with Store() as made:
        subject = SUBJECTS["readings"]
        for kind, unit in KINDS.items():
            size = Quantity(Decimal(2), unit, kind, Decimal(2))
            bounded = size._replace(bound=">")
            cells = {"what": kind, "value": size, "previous": bounded, "low": size, "margin": 0.5}
            made.add("readings", [tuple(cells.get(column.name) for column in subject.all_columns)])
        yield made


@_FEW
@given(
    kind=st.sampled_from([*_KINDS, ""]),
    left=_ARITHMETIC,
    sign=st.sampled_from(["<", "<=", ">", ">=", "=", "!="]),
    right=_ARITHMETIC,
)
def test_arithmetic_on_any_kind(kinds: Store, kind: str, left: str, sign: str, right: str) -> None:
    """Products and sums of any kinds are answered or refused."""
    _ask(kinds, f"readings {kind} where {left} {sign} {right}")


@pytest.mark.parametrize("kind", _KINDS)
@pytest.mark.parametrize("text", ["value * value > 200 V", "value / 2 V < 3", "1 / value < value * 2 Nm"])
def test_a_kind_without_a_unit_in_the_library(
    kinds: Store, monkeypatch: pytest.MonkeyPatch, kind: str, text: str
) -> None:
    """It is unlike any other kind, and no more: a new kind needs no entry there to be asked."""
    monkeypatch.delitem(dimensions._BASE_UNITS, kind)
    dimensions.factor.cache_clear()
    error = _refusal(kinds, f"readings {kind} where {text}")
    dimensions.factor.cache_clear()
    assert error is None or error.message


def test_an_unlisted_kind_is_like_itself(kinds: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """2 W/m2 times 2 V is more than 2 W/m2 times 1 V, and not comparable with 2 W/m2 times 1 A."""
    monkeypatch.delitem(dimensions._BASE_UNITS, "irradiance")
    dimensions.factor.cache_clear()
    assert _ask(kinds, "readings irradiance where value * 2 V > low * 1 V")
    assert not _ask(kinds, "readings irradiance where value * 2 V > low * 1 A")
    dimensions.factor.cache_clear()


def test_every_kind_has_a_unit_in_the_library() -> None:
    """So that products of kinds are compared by their dimension."""
    assert set(dimensions._BASE_UNITS) == set(KINDS)


def test_sentences_reach_the_database(store: Store) -> None:
    """The test above would prove nothing if all its sentences were refused."""
    choices = random.Random(7)
    fields = ["reworks", "margin", "line", "value < 12 Nm and line"]
    answered = sum(
        _ask(store, f"joints where {choices.choice(fields)} > {choices.randint(0, 1)} show place")
        for _ in range(20)
    )
    assert answered == 20


HOSTILE = ["'; DROP TABLE joints; --", "x' OR '1'='1", "quay-14;--", "a`b", "%s", "?1", "\\", "x/*y*/", "]["]


@pytest.mark.parametrize("name", HOSTILE)
@pytest.mark.parametrize(
    "question",
    [
        'joints at "{}"',
        'joints where remark has "{}"',
        'joints where site = "{}"',
        'parts where serial > "{}"',
        'joints in "{}"',
    ],
)
def test_nothing_of_the_question_is_sql(question: str, name: str) -> None:
    """A hostile name is a parameter; the SQL is that of a harmless one."""

    class Knows:
        """A store in which every name is stored."""

        def __init__(self, *names: str) -> None:
            self._names = frozenset(names)

        def names(self, column: str) -> frozenset[str]:
            return self._names

        def kinds(self, subject: str, column: str, what: str) -> frozenset[str]:
            return frozenset()

        def states(self, subject: str) -> frozenset[str]:
            return frozenset()

    asked = [
        compile(request_of(question.format(one), date(2026, 3, 2)), Knows(one)) for one in ("quay-14", name)
    ]
    assert asked[0].sql == asked[1].sql
    assert any(name in str(param) for param in asked[1].params) or "[" in name


def test_hostile_names_leave_the_store_whole(store: Store) -> None:
    """After every hostile question all rows are still there."""
    for name in HOSTILE:
        _ask(store, f'joints where remark has "{name}" or site = "{name}"')
        _ask(store, f"joints at {name}")
    assert next(store.select('SELECT count(*) FROM "joints"'))[0] == len(stored_rows()["joints"])


@pytest.mark.parametrize(
    "question",
    [
        "joints where " + "not " * 2000 + "line > 1",
        "joints where " + " or ".join(["line > 1"] * 900),
        "joints where line " + "+ 1 " * 2000 + "> 1",
        "joints where " + "(" * 40 + "line" + " + 1)" * 40 + " > 1",
        "joints where " + "not (" * 40 + "line > 1" + ")" * 40,
        "joints where " + "(" * 400 + "line > 1" + ")" * 400,
        "joints in bracket-1..9999, bracket-1..9999, bracket-1..9999, bracket-1..9999",
        "joints where " + " and ".join(["value < 0.9 * target"] * 300),
        "joints " + "under " * 3000,
        "joints at quay-14\udcff",
    ],
)
def test_too_much_is_refused_or_answered(store: Store, question: str) -> None:
    """Deep, long or broken questions end in an answer or in one error, whatever the limits below are."""
    error = _refusal(store, question)
    assert error is None or error.message

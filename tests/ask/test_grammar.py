"""The grammar of questions: no conflicts, every keyword known, every field askable, plain words in errors."""

import pytest
from lark import Lark

from sitelog.asking.question.errors import QuestionError
from sitelog.asking.question.expected import AFTER
from sitelog.asking.question.grammar import NAME, openers, parser, spellings, use_cache
from sitelog.asking.question.read import parse
from sitelog.asking.question.tree import NamedState, Question, StateClause, outline
from sitelog.asking.subjects import SUBJECTS
from sitelog.language.grammar_files import grammar_text


def test_grammar_has_no_conflict() -> None:
    """Strict mode raises for every shift/reduce conflict and for every two terminals that collide."""
    made = Lark(grammar_text(NAME), parser="lalr", lexer="basic", start="question", strict=True)
    assert made.parse("joints").data == "question"


def test_every_keyword_lexes_as_itself() -> None:
    """In any letter case; a keyword that lexed as a word could never be asked for."""
    for name, written in spellings().items():
        for spelling in (written, written.upper()):
            (token,) = parser().lex(spelling)
            assert (token.type, spelling) == (name, spelling)


@pytest.mark.parametrize("subject", SUBJECTS.values(), ids=SUBJECTS)
def test_every_field_can_be_asked_for(subject) -> None:
    """A column named like a keyword (`since`, `at`, `missing`) is still a field wherever fields stand."""
    for column in subject.all_columns:
        if column.hidden:
            continue
        name = column.name
        question = parse(f"{subject.name} where {name} is not none show {name} sort by {name} down")
        assert [one.field.text for one in question.show] == [name]
        assert question.sort[0].field.text == name
        assert parse(f"greatest {name} of {subject.name} per {name}").per[0].text == name


STATES = {
    "under": "under",
    "under torque": "under",
    "over torque": "over",
    "not tested": "not-tested",
    "NOT-TESTED": "not-tested",
    "not ok": "not-ok",
    "out of order": "out-of-order",
    "n/a": "n/a",
    "out of calibration": "out-of-calibration",
    "pre-only": "pre-only",
}


@pytest.mark.parametrize(("written", "name"), STATES.items())
def test_states_have_one_normal_name(written: str, name: str) -> None:
    """Both spellings of a state are the token that rows carry."""
    (states,) = parse(f"joints {written}").selections
    assert isinstance(states, StateClause)
    assert [(state.name, state.negated) for state in states.any_of] == [(name, False)]


def test_a_state_can_be_denied() -> None:
    """`not passing` denies; `not tested` is a state of its own."""
    (states,) = parse("joints not passing or not tested").selections
    assert isinstance(states, StateClause)
    assert [(one.name, one.negated) for one in states.any_of] == [("passing", True), ("not-tested", False)]
    first: NamedState = states.any_of[0]
    assert (first.word.column, first.word.end_column) == (8, 19)


def test_look_alike_characters_and_case_change_nothing() -> None:
    """What phones and word processors type is what is meant (columns stay where they were)."""
    plain = parse('joints where remark has "loose" and value < 12 Nm')
    typed = parse("JOINTS\u00a0Where remark HAS “loose” AND value\u2009< 12 Nm?")
    assert outline(typed).lower() == outline(plain).lower()


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("readings dc\u2010pos/earth", "readings dc-pos/earth"),
        ("readings dc\u2011pos/earth", "readings dc-pos/earth"),
        ("readings below \uff0d5 degC", "readings below -5 degC"),
        ("readings below \u22125 degC", "readings below -5 degC"),
        ("joints\u3000under\u2007torque", "joints under torque"),
        ("joints where remark has \u201floose\u2033", 'joints where remark has "loose"'),
        ("joints where remark has \u201cowner\u2019s\u201d", 'joints where remark has "owner\'s"'),
        ("readings below 5 \u02daC", "readings below 5 °C"),
        ("readings above 5 M\u2126", "readings above 5 M\u03a9"),
        ("joints where value < 0.9 \u00d7 target", "joints where value < 0.9 * target"),
        ("joints where value < 0.9 \u2715 target", "joints where value < 0.9 * target"),
    ],
)
def test_a_question_reads_the_look_alikes_that_a_log_reads(typed: str, plain: str) -> None:
    """Each stands for the plain character, and every column stays where it was."""
    assert parse(typed)._replace(text="") == parse(plain)._replace(text="")


def test_outline_shows_how_a_question_was_understood() -> None:
    """An indented tree, without columns."""
    text = outline(parse("count joints under torque at quay-14 where value < 0.9 * target per site"))
    assert text.splitlines()[0] == "question"
    assert "  subject: joints" in text
    assert "name: under" in text
    assert "preposition: at" in text


# The shortest question that ends behind each word that `AFTER` explains.
ENDINGS = {
    "AT": "joints at",
    "OF": "joints of",
    "IN": "joints in",
    "WITH": "joints with",
    "BY": "joints by",
    "FOR": "joints for",
    "ON": "joints on",
    "SINCE": "joints since",
    "UNTIL": "joints until",
    "BEFORE": "joints before",
    "BETWEEN": "joints between",
    "AS": "joints as",
    "HISTORY": "history",
    "WITHIN": "joints within",
    "OLDER": "joints older",
    "THAN": "joints older than",
    "BELOW": "joints below",
    "ABOVE": "joints above",
    "WHERE": "joints where",
    "PER": "joints per",
    "SHOW": "joints show",
    "SORT": "joints sort",
    "FIRST": "joints first",
    "LAST": "joints since last",
    "THIS": "joints since this",
    "HAS": "joints where remark has",
    "OUT": "joints out",
    "COUNT": "count",
    "SHARE": "share",
}


@pytest.mark.parametrize("name", sorted(AFTER))
def test_each_explanation_is_met(name: str) -> None:
    """A message without a question that leads to it cannot exist."""
    with pytest.raises(QuestionError) as caught:
        parse(ENDINGS[name])
    assert caught.value.message == "the question stops too early"
    assert AFTER[name] in caught.value.help


def test_terminal_names_never_reach_a_person() -> None:
    """Messages speak of words, not of the grammar's terminals."""
    for name in [*spellings(), "WORD", "NUMBER", "STRING", "$END"]:
        for question in ENDINGS.values():
            with pytest.raises(QuestionError) as caught:
                parse(f"{question} )")
            assert f"`{name}`" not in caught.value.message + caught.value.help


def test_openers_come_from_the_grammar() -> None:
    """What begins a state or a selection is read off the rules."""
    assert {"MISSING", "UNDER", "OUT", "NOT", "OVER"} <= openers("state")
    assert openers("per", "show", "sort", "first") == {"PER", "SHOW", "SORT", "FIRST"}


def test_tables_kept_in_a_folder_give_the_same_tree(tmp_path) -> None:
    """The first use writes the parser's tables, the second reads them."""
    try:
        trees: list[Question] = []
        for _ in range(2):
            use_cache(str(tmp_path))
            trees.append(parse("joints under torque at quay-14"))
            (tmp_path / "question.trees").unlink()  # or the second would not ask the parser
        assert trees[0] == trees[1]
        assert [path.name for path in tmp_path.iterdir()] == ["question.tables"]
    finally:
        use_cache("")


def test_grammars_are_found_in_a_wheel_and_in_a_checkout(tmp_path, monkeypatch) -> None:
    """Beside the modules when installed, one level up in a checkout."""
    from sitelog.language import grammar_files

    package = tmp_path / "sitelog"
    (tmp_path / "grammar").mkdir()
    (tmp_path / "grammar" / "a.lark").write_text("checkout", encoding="utf-8")
    monkeypatch.setattr(grammar_files, "_PACKAGE", package)
    assert grammar_text("a.lark") == "checkout"
    (package / "grammar").mkdir(parents=True)
    (package / "grammar" / "a.lark").write_text("wheel", encoding="utf-8")
    assert grammar_text("a.lark") == "wheel"
    with pytest.raises(FileNotFoundError):
        grammar_text("b.lark")

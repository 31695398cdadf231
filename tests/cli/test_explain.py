"""`sitelog explain` prints the reference in a terminal's dress: topics, kinds of line, commands."""

import pytest

from sitelog.base.text import display_width
from sitelog.base.verdicts import VERDICTS
from sitelog.cli.explain import TOPICS, page_of
from sitelog.cli.main import COMMANDS, main
from sitelog.findings.catalog import CATALOG
from sitelog.language.grammar_files import grammar_text
from sitelog.language.syntax import kinds
from sitelog.views.paper import dressed
from tests.house.readme import HEADINGS, examples

SECTIONS = sorted({heading for _, heading in TOPICS.values()} - {""})
EXAMPLES = [
    (kind, line)
    for heading in HEADINGS.values()
    for kind, line in examples(grammar_text("LANGUAGE.md"), heading).items()
]


def explained(capsys, word):
    assert main(["explain", word]) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("slug", CATALOG)
def test_a_page_is_printed_as_it_is_written(capsys, slug):
    assert explained(capsys, slug) == page_of(slug)


def test_every_section_of_the_language_has_a_topic():
    text = grammar_text("LANGUAGE.md")
    assert sorted(line[3:] for line in text.splitlines() if line.startswith("## ")) == SECTIONS


@pytest.mark.parametrize("topic", sorted(TOPICS))
def test_a_topic_has_no_markup(capsys, topic):
    lines = explained(capsys, topic).splitlines()
    assert len(lines) > 5
    typed = [line for line in lines if line.startswith("    ")]
    assert [line for line in lines if line not in typed and (line[:1] == "|" or "`" in line)] == []
    assert [line for line in lines if line not in typed and display_width(line) > 100] == []
    assert not any(line.startswith(("## ", "<!--")) for line in lines)


@pytest.mark.parametrize(("kind", "line"), EXAMPLES, ids=[line for _, line in EXAMPLES])
def test_a_kind_of_line_shows_its_example(capsys, kind, line):
    out = explained(capsys, kind)
    if kind in CATALOG:  # `todo`, whose page says what the line means
        assert out == page_of(kind)
    else:
        assert all(word in out for word in line.split())


def test_every_kind_of_line_is_explained():
    assert {kind for kind, _ in EXAMPLES} == {kind for role in HEADINGS for kind in kinds(role)}


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_is_explained_with_its_status(capsys, command):
    assert f"sitelog {command}" in " ".join(explained(capsys, command).split())


@pytest.mark.parametrize("verdict", sorted(set(VERDICTS) - set(CATALOG)))
def test_a_verdict_is_explained(capsys, verdict):
    assert "Verdicts" in explained(capsys, verdict)


@pytest.mark.parametrize(
    ("word", "nearest"), [("torqe", "torque"), ("langauge", "language"), ("unit", "units")]
)
def test_an_unknown_word_names_the_nearest(capsys, word, nearest):
    assert main(["explain", word]) == 2
    assert nearest in capsys.readouterr().err


def test_explain_alone_names_the_topics(capsys):
    assert main(["explain"]) == 0
    assert set(TOPICS) <= set(capsys.readouterr().out.split())


def test_help_shows_an_example(capsys):
    assert main(["explain", "--help"]) == 0
    assert "example: sitelog explain torque" in " ".join(capsys.readouterr().out.split())


def test_a_paper_is_fitted_to_the_width():
    table = "| a | b |\n|---|---|\n| `x` | one two three four five six seven eight nine ten |"
    assert dressed(f"# A\n\n{table}\n\n- *one*\n  two\n", 40).splitlines() == [
        "A",
        "=",
        "",
        "a  b",
        "-  " + "-" * 37,
        "x  one two three four five six seven",
        "   eight nine ten",
        "",
        "- one two",
    ]


def test_control_characters_are_shown_not_sent():
    assert dressed("a \x1b[31m b\n", 80) == "a \\x1b[31m b\n"

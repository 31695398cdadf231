"""The papers say what is so: their commands are run, their examples are read, their lists are whole.

After a change of wording: `pytest tests/house/test_readme.py --update-corpus`, and read the difference.
"""

import os
import re
import shutil
from pathlib import Path

import pytest

from sitelog.asking.subjects import SUBJECTS
from sitelog.base.verdicts import VERDICTS
from sitelog.cli.main import COMMANDS
from sitelog.files.records import read_kit, read_log, read_sheet
from sitelog.files.source import from_bytes
from sitelog.language.syntax import kinds
from sitelog.notation.quantities import KINDS, Problem, find_unit, gauge
from tests.house.readme import (
    HEADINGS,
    LANGUAGE,
    PAPERS,
    QUESTIONS,
    README,
    examples,
    steps,
    table,
    with_output,
)

EXAMPLE_LOGS = README.parent / "example_logs"
FRONT = README.read_text(encoding="utf-8")
TEXT = LANGUAGE.read_text(encoding="utf-8")
ASKING = QUESTIONS.read_text(encoding="utf-8")

ABOVE = {
    "log": "site a-1\ncrew mo lead\nday 2026-03-01\n",
    "sheet": "sheet a-1\n",
    "kit": "kit a-1\ntool TW3 torque-wrench 4..20 Nm\n",
}
LINES = [
    (role, kind, line) for role, heading in HEADINGS.items() for kind, line in examples(TEXT, heading).items()
]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a copy of the example logs, as a reader of README has it."""
    shutil.copytree(EXAMPLE_LOGS, tmp_path / "example_logs")
    monkeypatch.setitem(os.environ, "SITELOG_CACHE", "")
    return tmp_path


def test_commands_print_what_the_papers_show(folder, request):
    for paper in PAPERS:
        text = paper.read_text(encoding="utf-8")
        printed = with_output(text, folder)
        if request.config.getoption("--update-corpus"):
            paper.write_text(printed, encoding="utf-8")
        else:
            assert [step["output"] for step in steps(printed)] == [step["output"] for step in steps(text)]


def test_the_papers_run_every_command():
    texts = [paper.read_text(encoding="utf-8") for paper in PAPERS]
    run = {step["command"].split()[1] for text in texts for step in steps(text) if step["command"]}
    assert run == set(COMMANDS)
    assert {row[0][0].split()[1] for row in table(TEXT, "command")} == set(COMMANDS)


def test_readme_is_a_front_page():
    assert len(FRONT.splitlines()) <= 220
    assert all(f"`grammar/{paper.name}`" in FRONT for paper in PAPERS[1:])


def test_readme_opens_with_one_paragraph_and_two_commands():
    title, opening, *rest = FRONT.split("\n\n")
    assert title == "# sitelog"
    assert re.match(r"sitelog is the site log of", opening)
    before_the_tour = "\n\n".join(rest).split("\n## ", 1)[0]
    commands = re.findall(r"^```sh\n(.*?)^```$", before_the_tour, re.DOTALL | re.MULTILINE)
    assert len(commands) == 2
    assert all(command.count("\n") == 1 and " && " in command for command in commands)
    assert all((README.parent / name).exists() for name in ("example_logs", "tests", "pyproject.toml"))


@pytest.mark.parametrize("role", HEADINGS)
def test_every_kind_of_line_has_an_example(role):
    assert set(examples(TEXT, HEADINGS[role])) == set(kinds(role))


@pytest.mark.parametrize(("role", "kind", "line"), LINES, ids=[f"{role} {kind}" for role, kind, _ in LINES])
def test_examples_are_read_without_a_finding(role, kind, line):
    text = line if kind in ("site", role) else ABOVE[role] + line
    source = from_bytes(text.encode(), f"a-1.{'site' if role == 'log' else role}")
    read = {"log": read_log, "sheet": read_sheet, "kit": read_kit}[role](source)
    assert kind in line.split()
    assert [(one.slug, one.message) for one in read.findings] == []


def test_every_quantity_is_named_with_spellings_that_are_read():
    named = []
    for quantities, spellings in table(TEXT, "quantity"):
        named += quantities
        for spelling in spellings:
            unit = gauge(spelling.split()[0]) if re.match(r"[#\d]", spelling) else find_unit(spelling)
            assert not isinstance(unit, Problem), spelling
            assert unit.kind in quantities, spelling
    assert sorted(named) == sorted(set(KINDS) - {"number"})


def test_every_verdict_is_named_worst_first():
    assert [verdict for row in table(TEXT, "verdict") for verdict in row[0]] == list(VERDICTS)


def test_every_subject_is_named():
    subjects = next(row for row in ASKING.splitlines() if row.startswith("| subject |"))
    assert set(re.findall(r"`([a-z]+)`", subjects)) == set(SUBJECTS)

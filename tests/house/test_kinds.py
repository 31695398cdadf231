"""A kind is one row: nothing else compares anything with its name, and each row is whole."""

import ast
from collections import Counter
from pathlib import Path

import pytest

from sitelog.files.records import read_log, read_sheet
from sitelog.files.source import from_bytes
from sitelog.judging.values import WAYS
from sitelog.language.kinds import LOG, SHEET

HOUSE = Path(__file__).parents[2] / "sitelog"
NAMES = {*LOG, *SHEET}

EXCEPTIONS = {
    # Rows of the subjects of questions: each fills the columns that its own subject has.
    "asking/rows/common.py": 2,
    "asking/rows/history.py": 1,
    "asking/rows/work.py": 8,
    # What a person types: a signature is asked for, a visit opens a block, a form begins with its site.
    "cli/enter.py": 2,
    "cli/start.py": 1,
    # Pictures: a hole has two, a cable shows its drop.
    "cli/plots.py": 3,
    # The lines that say something of the whole file ask for nothing and have no row.
    "files/records/kit.py": 1,
    "files/records/sheet.py": 1,
    # Layout: a scan is one piece, a day is a heading, nothing above a signature is touched.
    "files/tidying.py": 4,
    # A step is meant by `while` as well, and a part may have a defect.
    # Of a tool's measure, where `torque` is the kind of a quantity.
    # What a refused line was probably meant to be.
    "language/syntax/errors.py": 3,
    # Chapters of the handover and the overview.
    "report/handover/cover.py": 1,
    "report/handover/readings.py": 3,
    "report/overview/ranking.py": 1,
}
"""Where names of kinds are still compared with, how often, and why. It may only shrink."""


def comparisons(path: Path) -> list[str]:
    """The comparisons and membership tests with a kind's name in a file, each with its line."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Compare):
            continue
        subject = ast.unparse(node.left)
        if not (subject.endswith(".kind") or subject in ("kind", "word")) or "measure" in subject:
            continue
        words = {
            part.value
            for side in node.comparators
            for part in ast.walk(side)
            if isinstance(part, ast.Constant)
        }
        if words & NAMES and "measures" not in ast.unparse(node):
            found.append(f"{node.lineno}: {ast.unparse(node)}")
    return found


def test_nobody_compares_with_the_name_of_a_kind():
    found = Counter()
    places = {}
    for path in sorted(HOUSE.rglob("*.py")):
        name = path.relative_to(HOUSE).as_posix()
        if not name.startswith("language/kinds/") and (lines := comparisons(path)):
            found[name], places[name] = len(lines), lines
    assert {name: places[name] for name in found if found[name] > EXCEPTIONS.get(name, 0)} == {}
    assert {name: count for name, count in EXCEPTIONS.items() if found[name] < count} == {}, "shrink the list"


@pytest.mark.parametrize("word", LOG)
def test_the_example_of_an_entry_can_be_read(word):
    text = LOG[word].example if word == "site" else f"site here\n{LOG[word].example}"
    log = read_log(from_bytes(text.encode(), "a.site"))
    assert log.findings == ()
    assert log.lines[-1].entry.kind == word
    assert log.lines[-1].record is not None


@pytest.mark.parametrize("word", SHEET)
def test_the_example_of_what_a_sheet_asks_can_be_read(word):
    sheet = read_sheet(from_bytes(f"sheet here\n{SHEET[word].example}".encode(), "a.sheet"))
    assert sheet.findings == ()
    assert {one.kind for one in sheet.requirements} == {word}


@pytest.mark.parametrize("word", SHEET)
def test_a_kind_is_judged_in_a_way_that_there_is(word):
    assert SHEET[word].judged in {*WAYS, "spread"}
    assert SHEET[word].called in {"what", "place", "kind", "nothing"}
    assert SHEET[word].unknown in {"place", "place of what", "name", "step"}


def test_what_entries_make_is_what_a_sheet_can_ask():
    made = {row.makes for row in LOG.values() if row.makes}
    assert made - {"state", "device"} <= set(SHEET)
    assert set(SHEET) - made == {"spread"}  # made of readings
    assert all(bool(row.makes) == (row.observe is not None) for row in LOG.values())


@pytest.mark.parametrize("word", [word for word, row in LOG.items() if row.waits])
def test_a_line_that_waits_for_its_blank_has_a_kind_that_can_be_missing(word):
    assert LOG[word].makes in SHEET

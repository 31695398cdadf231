"""DEVELOPERS.md names what exists, and each way to add a thing leads to a registry that is whole."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from sitelog.asking.rows import rows_of
from sitelog.asking.subjects import SUBJECTS
from sitelog.cli.main import COMMANDS, main
from sitelog.findings.catalog import CATALOG, page_path
from sitelog.language.syntax import kinds
from sitelog.views.rows import FORMATS

CHECKOUT = Path(__file__).parents[2]
TEXT = (CHECKOUT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_path_named_exists():
    named = set(re.findall(r"(?<![\w/])(?:sitelog|grammar|tests|\.ci)/[\w./-]*\w", TEXT))
    assert {
        "sitelog/language/kinds/__init__.py",
        "grammar/log.lark",
        "tests/corpus/README.md",
        ".ci/run",
    } <= named
    assert [path for path in sorted(named) if not (CHECKOUT / path).exists()] == []


@pytest.mark.parametrize("role", ["log", "sheet", "kit"])
def test_every_kind_has_a_corpus_file(role):
    wanted = {kind.replace("/", "-") for kind in kinds(role)}
    assert wanted == {path.stem for path in (CHECKOUT / "tests" / "corpus" / role).glob("*.txt")}


def test_every_finding_has_a_page():
    pages = {path.stem for path in (CHECKOUT / "sitelog" / "findings" / "pages").glob("*.md")}
    assert pages == set(CATALOG)
    assert all(Path(page_path(slug)).is_file() for slug in CATALOG)


def test_every_format_offered_can_be_written(capsys):
    assert main(["ask", "--help"]) == 0
    offered = re.search(r"--format \{(.+?)\}", capsys.readouterr().out)
    assert offered is not None
    assert set(offered[1].split(",")) == set(FORMATS)


def test_every_command_has_a_file_of_its_own():
    assert {command.module for command in COMMANDS.values()} == {f"sitelog.cli.{name}" for name in COMMANDS}


def test_every_subject_gets_rows():
    from datetime import date

    from sitelog.fleet.workspace import load, rows

    found = rows(load([str(CHECKOUT / "example_logs")], date(2026, 11, 25)))
    assert callable(rows_of)
    assert set(found) == set(SUBJECTS)
    assert [name for name, some in found.items() if not some] == []
    assert [
        (name, len(row))
        for name, some in found.items()
        for row in some
        if len(row) != len(SUBJECTS[name].all_columns)
    ] == []


SLOW = ("argparse", "json", "lark", "pint", "sqlite3", "tabulate")


@pytest.mark.parametrize(
    ("site", "slow"),
    [
        ("maple-118", SLOW),  # with a logger's file, which takes more to read
        ("pump-house-2", (*SLOW, "dataclasses", "difflib", "hashlib", "importlib", "inspect", "typing")),
    ],
)
def test_known_lines_load_no_library(tmp_path, site, slow):
    environment = os.environ | {"SITELOG_CACHE": str(tmp_path), "PYTHONPATH": str(CHECKOUT)}
    log = f"example_logs/sites/{site}.site"
    told = (
        "import sys; before = {*sys.modules}; from sitelog.cli.main import main; "
        f"main(['check', {log!r}, '--today', '2026-11-25']); "
        f"print(sorted(set({slow!r}) & sys.modules.keys() - before))"
    )
    starts = [
        subprocess.run(
            [sys.executable, "-c", told], cwd=CHECKOUT, env=environment, capture_output=True, text=True
        )
        for _ in range(2)
    ]
    assert [start.stderr for start in starts] == ["", ""]
    assert starts[0].stdout.splitlines()[-1] != "[]"  # the first start asks Lark
    assert starts[1].stdout.splitlines()[-1] == "[]"

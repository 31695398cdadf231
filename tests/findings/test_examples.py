"""The examples of every page are true: the wrong one gives its finding, the right one no longer does."""

import os
import re
from contextlib import chdir
from datetime import date
from pathlib import Path

import pytest

from sitelog.findings import CATALOG, Finding
from sitelog.fleet.workspace import load
from tests.findings.pages import examples

TODAY = date(2026, 12, 1)
SHOWN = [slug for slug in CATALOG if examples(slug)]
TOLD = {slug for slug in CATALOG if not examples(slug)}
"""Pages whose example is no log: what is wrong there is shown by the tests of files and signatures."""


def findings(folder: Path, files: dict[str, str]) -> list[Finding]:
    """What is said about the files of an example, with nothing else beside them."""
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    with chdir(folder):
        return load([os.curdir], TODAY).findings


@pytest.mark.parametrize("slug", SHOWN)
def test_the_wrong_example_gives_its_finding(slug: str, tmp_path: Path) -> None:
    both = examples(slug)
    assert both is not None
    assert slug in {one.slug for one in findings(tmp_path, both[0])}


@pytest.mark.parametrize("slug", SHOWN)
def test_the_right_example_does_not_and_brings_nothing_new(slug: str, tmp_path: Path) -> None:
    both = examples(slug)
    assert both is not None
    before = {one.slug for one in findings(tmp_path / "wrong", both[0])}
    after = findings(tmp_path / "right", both[1])
    assert slug not in {one.slug for one in after}
    assert [one for one in after if one.severity != "info" and one.slug not in before] == []


@pytest.mark.parametrize("slug", SHOWN)
def test_the_wrong_example_is_about_one_thing(slug: str, tmp_path: Path) -> None:
    """Beside its finding stand at most infos, and what follows from it: a reader is not led astray."""
    both = examples(slug)
    assert both is not None
    errors = {one.slug for one in findings(tmp_path, both[0]) if one.severity == "error"}
    assert len(errors - {slug}) <= 1, errors


def test_what_no_log_can_show_is_shown_by_another_test() -> None:
    """A path, a byte or a digest is no line of a log: its finding is asked for by name in some other test."""
    here = Path(__file__)
    tests = [path for path in here.parents[1].rglob("*") if path.suffix in (".py", ".txt") and path != here]
    everything = "\n".join(path.read_text(encoding="utf-8", errors="replace") for path in tests)
    assert [slug for slug in sorted(TOLD) if not re.search(rf"(?<![\w-]){slug}(?![\w-])", everything)] == []

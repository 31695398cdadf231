"""What two states of the example logs have in common: found both ways round, and by the shorter way."""

import os
import random
import shutil
from contextlib import chdir
from datetime import date
from pathlib import Path

import pytest

import sitelog.cli.changes as command
from sitelog.cli.main import main
from sitelog.files.tidying import tidied
from sitelog.fleet.workspace import load
from sitelog.judging.changes import changes
from tests.changes.repositories import Repository

EXAMPLES = Path(__file__).parents[2] / "example_logs"
TODAY = date(2026, 11, 25)
LOGS = sorted(path.name for path in (EXAMPLES / "sites").glob("*.site"))


def judged(folder: Path):  # type: ignore[no-untyped-def]
    with chdir(folder):
        return load(["."], TODAY).judged


@pytest.fixture(scope="module")
def as_they_are():  # type: ignore[no-untyped-def]
    return judged(EXAMPLES)


def with_log(folder: Path, name: str, lines: list[str]) -> Path:
    shutil.copytree(EXAMPLES, folder)
    (folder / "sites" / name).write_text("".join(lines), encoding="utf-8")
    return folder


def lines_of(name: str) -> list[str]:
    return (EXAMPLES / "sites" / name).read_text(encoding="utf-8").splitlines(keepends=True)


def test_lining_up_changes_nothing(as_they_are, tmp_path):
    """`tidy` moves blanks and takes normal spellings, and says that it changes no meaning; this agrees."""
    shutil.copytree(EXAMPLES, tmp_path / "x")
    for path in (tmp_path / "x").rglob("*.*"):
        if path.suffix in (".site", ".sheet", ".kit"):
            loose = path.read_text(encoding="utf-8").replace("  ", "   ")
            path.write_text(tidied(loose, path.name), encoding="utf-8")
    assert not changes(as_they_are, judged(tmp_path / "x"))


@pytest.mark.parametrize("name", LOGS)
def test_a_comment_above_every_line_changes_only_what_a_digest_covers(as_they_are, tmp_path, name):
    lines = [f"# {at}\n\n{line}" for at, line in enumerate(lines_of(name))]
    found = changes(as_they_are, judged(with_log(tmp_path / "x", name, lines)))
    signed = sum("digest-" in line for line in lines)
    assert [(len(one.signatures), one.verdicts, one.edits) for one in found.sites] == [(1, (), ())] * signed
    assert not found.sheets_and_kits


@pytest.mark.parametrize("seed", range(12))
def test_both_ways_round(as_they_are, tmp_path, seed):
    """What is deleted one way is added the other, and every verdict flips back."""
    dice = random.Random(seed)
    name = dice.choice(LOGS)
    lines = lines_of(name)
    del lines[dice.randrange(8, len(lines))]
    other = judged(with_log(tmp_path / "x", name, lines))
    there, back = changes(as_they_are, other), changes(other, as_they_are)
    assert [one.site for one in there.sites] == [one.site for one in back.sites]
    for one, two in zip(there.sites, back.sites, strict=True):
        assert sorted((flip.what, flip.place, flip.before, flip.after) for flip in one.verdicts) == sorted(
            (flip.what, flip.place, flip.after, flip.before) for flip in two.verdicts
        )
        assert [(edit.before, edit.after) for edit in one.edits if edit.how == "deleted"] == [
            (edit.after, edit.before) for edit in two.edits if edit.how == "added"
        ]
        assert [(name, now, was) for name, was, now in one.figures] == list(two.figures)


@pytest.mark.parametrize("seed", range(6))
def test_logs_that_need_not_be_read_say_nothing(tmp_path, monkeypatch, capsys, seed):
    """With every log judged on both sides the answer is the same as with those alone that can differ."""
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    repo = Repository(tmp_path / "jobs")
    shutil.copytree(EXAMPLES, repo.path / "x")
    repo.commit()
    dice = random.Random(seed)
    for name in dice.sample(LOGS, 2):
        lines = lines_of(name)
        del lines[dice.randrange(8, len(lines))]
        (repo.path / "x" / "sites" / name).write_text("".join(lines), encoding="utf-8")
    monkeypatch.chdir(repo.path)
    words = ["changes", "--format", "json", "--today", TODAY.isoformat()]
    short = main(words), capsys.readouterr().out
    monkeypatch.setattr(command, "_concerned", lambda before, after, logs: logs)
    assert (main(words), capsys.readouterr().out) == short

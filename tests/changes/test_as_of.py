"""`sitelog ask … --as-of REV`: the same question among the files of a revision."""

import json
import os
from pathlib import Path

import pytest

from sitelog.cli.main import main
from tests.changes.repositories import FILES, LOG, SECOND, SHEET, Repository


@pytest.fixture
def repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repository:
    """Two commits: in the second foot-2 is under torque, and there is another site in a folder."""
    for name in ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
    made = Repository(tmp_path / "jobs")
    made.commit(dict(FILES))
    made.commit({"north-1.site": LOG.replace("12.1", "9.8"), "a/south-2.site": SECOND.replace("12.1", "9.5")})
    monkeypatch.chdir(made.path)
    return made


def ask(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(["ask", *words, "--today", "2026-04-01"])
    said = capsys.readouterr()
    return status, said.out, said.err


UNDER = "joints under torque show site, place"


def test_then_and_now(repo, capsys):
    repo.write({"north-1.site": LOG})
    _, now, _ = ask(capsys, UNDER, "--format", "json")
    _, last, _ = ask(capsys, UNDER, "--as-of", "HEAD", "--format", "json")
    status, first, _ = ask(capsys, UNDER, "--as-of", "HEAD~1", "--format", "json")
    assert [row["site"] for row in json.loads(now)] == ["south-2"]
    assert sorted(row["site"] for row in json.loads(last)) == ["north-1", "south-2"]
    assert (status, json.loads(first)) == (1, [])


def test_files_are_named_as_they_are_seen_from_here(repo, capsys, monkeypatch):
    monkeypatch.chdir(repo.path / "a")
    words = ("joints under torque", "..", "--format", "lines")
    then = ask(capsys, *words, "--as-of", "HEAD")
    assert then == ask(capsys, *words)  # nothing changed since
    assert f"{os.path.join('..', 'north-1.site')}:8: 09:10  torque" in then[1]
    assert os.getcwd() == os.path.realpath(repo.path / "a")


def test_the_sheet_of_that_time_judges(repo, capsys):
    repo.commit({"rack.sheet": SHEET.replace("12 Nm", "9 Nm")})
    old = ask(capsys, "count joints over at north-1", "--as-of", "HEAD~1", "--format", "csv")[1]
    new = ask(capsys, "count joints over at north-1", "--as-of", "HEAD", "--format", "csv")[1]
    # 12.0, 11.9 and 12.2 Nm are over 9 Nm +10 % = 9.9 Nm; 9.8 Nm is not.
    assert (old.split()[-1], new.split()[-1]) == ("0", "3")


def test_a_day_in_the_question_goes_with_it(repo, capsys):
    question = "joints under torque as of 2026-03-01"
    assert ask(capsys, question, "--as-of", "HEAD")[0] == 1


def test_own_sql(repo, capsys):
    select = "select count(*) as n from joints where verdict = 'under'"
    every = ask(capsys, "--sql", select, "--as-of", "HEAD", "--format", "json")[1]
    one = ask(capsys, "--sql", select, "a", "--as-of", "HEAD", "--format", "json")[1]
    assert (json.loads(every), json.loads(one)) == ([{"n": 2}], [{"n": 1}])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--as-of", "nope"], "no revision `nope`"),
        (["a", "--as-of", "HEAD~1"], "no a in revision `HEAD~1`"),
        (["-", "--as-of", "HEAD"], "standard input"),
        (["--as-of", "HEAD", ".."], "outside the repository"),
    ],
)
def test_trouble_is_one_line(repo, capsys, words, said):
    status, out, err = ask(capsys, UNDER, *words)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert said in err


def test_nothing_is_left_behind(repo, capsys, tmp_path, monkeypatch):
    import tempfile

    (tmp_path / "t").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "t"))
    ask(capsys, UNDER, "--as-of", "HEAD")
    assert list((tmp_path / "t").iterdir()) == []
    assert repo.git("status", "--porcelain") == ""

"""The command `ask`: what it prints, where, and its exit status."""

import sys
from datetime import date
from typing import NamedTuple

import pytest

from sitelog.asking.subjects import SUBJECTS
from sitelog.cli.main import main
from sitelog.views.findings import CAUTION
from tests.ask.data import TODAY, stored_rows


class _Site(NamedTuple):
    site: str = "barn-3"
    headlines: tuple[str, ...] = ("danger open: smell of burning",)


class _Workspace(NamedTuple):
    findings: tuple[object, ...] = ()
    sites: tuple[_Site, ...] = ()
    readable: int = 1
    today: date = TODAY


@pytest.fixture
def pretend(monkeypatch):
    """Let the command find a workspace made by hand."""

    def give(workspace=None):
        made = workspace or _Workspace()
        monkeypatch.setenv("SITELOG_CACHE", "")  # nothing that was kept of other files
        monkeypatch.setattr(
            "sitelog.fleet.workspace.load", lambda _, today, until=None: made._replace(today=today)
        )
        monkeypatch.setattr("sitelog.fleet.workspace.rows", lambda _, histories=(): stored_rows())

    give()
    return give


def _run(capsys, *arguments: str) -> tuple[int, str, str]:
    status = main(["ask", *arguments])
    out, err = capsys.readouterr()
    return status, out, err


def test_rows_none_and_error(pretend, capsys) -> None:
    """0 with rows, 1 with none, 2 where the question is none."""
    status, out, err = _run(capsys, "joints under torque show place, value")
    assert (status, out.splitlines()[1].split()) == (0, ["bracket-8", "9.8"])
    assert out.endswith(f"\n\n{CAUTION}\n")
    assert err == ""
    assert _run(capsys, "joints over torque") == (1, "", "")
    status, out, err = _run(capsys, "joints below 5 V")
    assert (status, out) == (2, "")
    assert err.splitlines() == [
        "question:16: error: `V` is a voltage (V, mV); `value` is a torque (Nm, in-lb)",
        "    joints below 5 V",
        "                   ^",
        "help: only like can be compared with like",
    ]


def test_a_person_is_told_that_there_are_none(pretend, capsys, monkeypatch) -> None:
    """On a terminal, on stderr, where it cannot be taken for a row."""
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setenv("NO_COLOR", "1")
    assert _run(capsys, "joints over torque") == (1, "", "none\n")


def test_a_table_is_as_wide_as_the_terminal(pretend, capsys, monkeypatch) -> None:
    """Text gives way, numbers do not."""
    monkeypatch.setenv("COLUMNS", "70")
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    _, out, _ = _run(capsys, "entries show site, day, line, entry")
    lines = out.partition("\n\n")[0].splitlines()
    assert max(map(len, lines)) <= 70
    assert len(lines) > len(stored_rows()["entries"]) + 1


def test_undecided_values_are_said(pretend, capsys) -> None:
    """What `>999` keeps out is counted on stderr."""
    status, out, err = _run(capsys, "readings insulation above 1000 MΩ", "--format", "json")
    assert (status, out) == (1, "[]\n")
    assert "1 row is left out" in err


def test_an_open_danger_heads_the_answer(pretend, capsys) -> None:
    """In a table; beside the answer where a program reads it."""
    pretend(_Workspace(sites=(_Site(),)))
    _, out, _ = _run(capsys, "joints show place first 1")
    assert out.startswith("barn-3: danger open: smell of burning\n")
    _, out, _ = _run(capsys, "joints show place first 1", "--format", "markdown")
    assert out.startswith("barn-3: danger open: smell of burning\n\n| place |\n| --- |\n")
    _, out, err = _run(capsys, "joints show place first 1", "--format", "csv")
    assert out.startswith("place\r\n") or out.startswith("place\n")
    assert "danger open" in err


def test_a_count_stands_in_no_line(pretend, capsys) -> None:
    """`lines` wants rows of a file."""
    status, out, err = _run(capsys, "count joints", "--format", "lines")
    assert (status, out) == (2, "")
    assert "stands in no line" in err


def test_explain(pretend, capsys) -> None:
    """The tree, then the SQL with its parameters."""
    status, out, _ = _run(capsys, "joints under torque at quay-14", "--explain")
    assert status == 0
    assert out.startswith("question\n")
    assert 'FROM "joints"' in out
    assert "parameters: [' under ', 'quay-14']" in out


@pytest.mark.parametrize("subject", sorted(SUBJECTS))
def test_fields(capsys, subject: str) -> None:
    """Every field with its meaning, without reading a log."""
    status, out, _ = _run(capsys, "--fields", subject)
    assert status == 0
    fields = {line.split()[0] for line in out.split("\n\n")[0].splitlines()}
    assert {"file", "line", *(column.name for column in SUBJECTS[subject].columns)} <= fields


def test_wrong_use(pretend, capsys) -> None:
    """An unknown subject, no question, nothing readable: one clear line each."""
    assert _run(capsys, "--fields", "joint")[::2] == (
        2,
        "sitelog: there is nothing called `joint`; did you mean `joints`?\n",
    )
    assert _run(capsys)[0] == 2
    pretend(_Workspace(readable=0))
    assert _run(capsys, "joints")[::2] == (2, "sitelog: no log could be read\n")


def test_today_is_a_choice(pretend, capsys) -> None:
    """The same question of another day."""
    status, out, _ = _run(
        capsys, "tools due within 30 days show tool", "--today", "2026-03-01", "--format", "csv"
    )
    assert (status, out.split()) == (0, ["tool", "TW5"])


def test_own_sql(pretend, capsys) -> None:
    """Rows of a person's own statement; what it may not do is said in one line."""
    sql = "select place, value_number from joints where instr(states, ' under ') order by place"
    status, out, _ = _run(capsys, "--sql", sql, "a.site", "--format", "csv")
    assert (status, out.split()) == (0, ["place,value_number", "bracket-8,9.8"])
    assert _run(capsys, "--sql", "select 1 where 0")[0] == 1
    assert _run(capsys, "--sql", "select * from joints_history")[0] == 1
    status, out, err = _run(capsys, "--sql", "drop table joints")
    assert (status, out, err) == (2, "", "sitelog: the SQL cannot be run: not authorized\n")


def test_what_is_missing_stands_at_the_sheet_line_that_asks_it(tmp_path, capsys) -> None:
    """`lines` gives that line as written."""
    asked = "joint   bolt-1..2  12 Nm +-10 %"
    (tmp_path / "wall.sheet").write_text(f'sheet wall\nsource "guide"\n{asked}\n', encoding="utf-8")
    (tmp_path / "hut.site").write_text("site hut\nsheet wall\nday 2026-03-02\n", encoding="utf-8")
    assert main(["ask", "joints missing", str(tmp_path), "--format", "lines", "--no-index"]) == 0
    assert capsys.readouterr().out == f"{tmp_path / 'wall.sheet'}:3: {asked}\n"

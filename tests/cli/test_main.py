"""The edges: usage, interrupts, closed pipes, missing files, terminals that cannot show everything."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from sitelog.cli.main import COMMANDS, main
from tests.cli.fakes import UNDER, Site, Workspace, pretend

CHECKOUT = Path(__file__).parents[2]
HEAVY = {"pint", "tabulate", "sqlite3", "json", "difflib", "sitelog.asking.question", "sitelog.asking.store"}


def run(*arguments, cwd=CHECKOUT, **more):
    environment = {**os.environ, "PYTHONPATH": str(CHECKOUT), **more.pop("env", {})}
    return subprocess.run(
        [sys.executable, *arguments], cwd=cwd, env=environment, capture_output=True, check=False, **more
    )


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(command, capsys):
    assert main([command, "--help"]) == 0
    out = capsys.readouterr().out
    assert f"example: sitelog {command} " in " ".join(out.split())


def test_help_lists_every_command(capsys):
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    for name, command in COMMANDS.items():
        assert re.search(rf"^  {name} +{re.escape(command.summary)}$", out, re.MULTILINE)


def test_version(capsys):
    assert main(["--version"]) == 0
    assert re.fullmatch(r"sitelog \d+\.\d+\.\d+\n", capsys.readouterr().out)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "usage: sitelog COMMAND"),
        (["chek"], "did you mean `check`?"),
        (["x"], "there are: check"),
        (["check", "--format", "xml"], "invalid choice"),
        (["check", "--nothing"], "unrecognized arguments"),
        (["--nothing"], "unrecognized arguments"),
    ],
)
def test_bad_usage_ends_with_2_and_says_why_on_stderr(arguments, words, capsys):
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err


@pytest.mark.parametrize(
    ("exception", "status", "line"),
    [
        # 128 + the signal's number is how a shell reports a process ended by it (POSIX.1-2017, XCU 2.8.2
        # asks for more than 128; the sum is common practice).
        (KeyboardInterrupt(), 130, "sitelog: stopped\n"),
        (
            PermissionError(13, "Permission denied", "a\x1b.site"),
            2,
            "sitelog: a\\x1b.site: Permission denied\n",
        ),
        (OSError("disk gone"), 2, "sitelog: disk gone\n"),
        (MemoryError(), 2, "sitelog: not enough memory for these files\n"),
    ],
)
def test_what_goes_wrong_is_one_line(monkeypatch, capsys, exception, status, line):
    pretend(monkeypatch, exception)
    assert main(["check"]) == status
    assert capsys.readouterr() == ("", line)


def test_a_closed_pipe_is_one_line_and_no_traceback():
    reader = subprocess.Popen(
        [sys.executable, "-m", "sitelog", "explain"],
        cwd=CHECKOUT,
        stdout=(pipe := os.pipe())[1],
        stderr=subprocess.PIPE,
    )
    os.close(pipe[0])
    os.close(pipe[1])
    _, err = reader.communicate(timeout=60)
    assert err == b"sitelog: the output was closed before its end\n"
    assert reader.returncode == 141


def test_a_terminal_without_the_letters_shows_escapes():
    done = run("-m", "sitelog", "explain", "unit-case", env={"PYTHONIOENCODING": "ascii"})
    assert done.returncode == 0
    assert rb"m\u03a9" in done.stdout


def test_colour_only_on_a_terminal_and_never_with_no_color(monkeypatch, capsys):
    pretend(monkeypatch, Workspace(findings=(UNDER,), sites=(Site(headlines=("away: locked",)),)))
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    main(["check"])
    assert "\x1b" not in capsys.readouterr().out
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    main(["check"])
    assert "\x1b[31merror\x1b[0m" in capsys.readouterr().out
    main(["check", "--format", "json"])
    assert "\x1b" not in capsys.readouterr().out
    monkeypatch.setenv("NO_COLOR", "1")
    main(["check"])
    assert "\x1b" not in capsys.readouterr().out


def test_check_loads_nothing_it_does_not_need(tmp_path):
    log = tmp_path / "hill-9.site"
    log.write_text("site hill-9\nday 2026-03-02\n09:05 note wall is brick\n")
    program = (
        "import sys\n"
        "from sitelog.cli.main import main\n"
        f"main(['check', {str(log)!r}])\n"
        f"print('heavy:', sorted({HEAVY} & set(sys.modules)))\n"
    )
    done = run("-c", program, text=True)
    assert done.stdout.splitlines()[-1] == "heavy: []", done.stderr

"""Plain command lines mean what argparse says they mean: it is what they are held against."""

from __future__ import annotations

import io
from contextlib import redirect_stderr, redirect_stdout
from importlib import import_module
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitelog.cli import main
from sitelog.cli.words import Plain

WORDS = st.sampled_from(
    [
        *("a", "b c", "", "-", "--", "-5", "-x", "quay-1.site", "joints under torque", "tool", "serial"),
        *("--today", "2026-03-02", "2026-3-2", "--today=2026-03-02", "--tod", "--format"),
        *("--no-index", "--explain", "--fields", "--sql", "--as-of", "HEAD", "--kit", "--since", "--until"),
        *("--error", "+6 %", "-6 %", "--for", "installed", "--time", "08:05", "8:5"),
        *(
            "json",
            "lines",
            "xml",
            "--sheet",
            "-o",
            "--diff",
            "--check",
            "--help",
            "-h",
            "--version",
            "ö",
            "--plot",
        ),
    ]
)


def _by_argparse(name: str, words: list[str]) -> dict[str, Any] | None:
    """What argparse makes of the words; None where it ends the program."""
    parser = main._parser(name)
    import_module(main.COMMANDS[name].module).add_arguments(parser)
    try:
        with redirect_stderr(io.StringIO()), redirect_stdout(io.StringIO()):
            return vars(parser.parse_intermixed_args(words))
    except SystemExit:
        return None


def _plain(name: str, words: list[str]) -> dict[str, Any] | None:
    plain = Plain()
    import_module(main.COMMANDS[name].module).add_arguments(plain)
    said = plain.understood(words)
    return None if said is None else vars(said)


@settings(max_examples=1500, deadline=None)
@given(st.sampled_from(sorted(main.COMMANDS)), st.lists(WORDS, max_size=6))
def test_what_is_understood_is_what_argparse_understands(name: str, words: list[str]) -> None:
    said = _plain(name, words)
    if said is not None:
        assert said == _by_argparse(name, words)


@pytest.mark.parametrize(
    "words",
    [
        ["check"],
        ["check", "example_logs", "--today", "2026-12-31"],
        ["check", "--format", "json", "a", "b"],
        ["gaps", "quay-14.site"],
        ["ask", "joints under torque", "example_logs", "--no-index"],
        ["ask", "--fields", "joints"],
        ["ask", "joints", "--format", "lines", "-"],
    ],
)
def test_usual_lines_are_understood_without_argparse(words: list[str]) -> None:
    said = _plain(words[0], words[1:])
    assert said is not None
    assert said == _by_argparse(words[0], words[1:])


def test_a_check_of_plain_words_loads_no_argparse(tmp_path) -> None:  # type: ignore[no-untyped-def]
    import subprocess
    import sys

    (tmp_path / "a.site").write_text("site a\n", encoding="utf-8")
    code = (
        "import sys; from sitelog.cli.main import main\nmain(sys.argv[1:]); print('argparse' in sys.modules)"
    )
    for words, loaded in (([], "False"), (["--format=text"], "True")):
        command = [sys.executable, "-c", code, "check", str(tmp_path), "--today", "2026-03-02", *words]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        assert done.stdout.splitlines()[-1] == loaded

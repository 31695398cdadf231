"""What is shipped: every package, every data file, the grammars, and a command that exists."""

import re
import subprocess
import tomllib
from importlib import import_module
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parents[2]
PROJECT = tomllib.loads((CHECKOUT / "pyproject.toml").read_text(encoding="utf-8"))
TARGETS = PROJECT["tool"]["hatch"]["build"]["targets"]

AT_THE_TOP = {
    "CHANGELOG.md",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "example_logs",
    "grammar",
    "pyproject.toml",
    "sitelog",
    "tests",
}


def _kept_by_git() -> list[str]:
    """Every file of the checkout that is not ignored; all files where there is no repository (an sdist)."""
    if not (CHECKOUT / ".git").exists():
        ignored = {line.strip("/") for line in (CHECKOUT / ".gitignore").read_text("utf-8").splitlines()}
        found = [path.relative_to(CHECKOUT) for path in CHECKOUT.rglob("*") if path.is_file()]
        return [str(path) for path in found if not ignored & set(path.parts)]
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=CHECKOUT, capture_output=True, text=True, check=True).stdout
    return [name for name in listed.splitlines() if (CHECKOUT / name).exists()]


def test_nothing_else_stands_at_the_top():
    tops = {name.split("/")[0] for name in _kept_by_git()}
    tops -= {"PKG-INFO"}  # what an sdist adds
    assert {top for top in tops if not top.startswith(".")} == AT_THE_TOP


def test_every_folder_with_modules_is_a_package():
    folders = {path.parent for path in (CHECKOUT / "sitelog").rglob("*.py")}
    assert folders
    assert [folder for folder in folders if not (folder / "__init__.py").exists()] == []


def test_the_wheel_takes_the_package_and_the_grammars():
    assert TARGETS["wheel"]["packages"] == ["sitelog"]
    assert TARGETS["wheel"]["force-include"] == {"grammar": "sitelog/grammar"}
    assert not (CHECKOUT / "sitelog" / "grammar").exists()  # one place only; the wheel makes the other


def test_the_source_archive_takes_everything():
    taken = {path.strip("/") for path in TARGETS["sdist"]["include"]}
    always = {"pyproject.toml"}
    assert {name.split("/")[0] for name in _kept_by_git()} - {"PKG-INFO"} <= taken | always


NAMES = ["common.lark", "log.lark", "sheet.lark", "kit.lark", "query.lark", "LANGUAGE.md", "QUESTIONS.md"]


@pytest.mark.parametrize("name", NAMES)
def test_the_grammars_and_papers_are_found(name):
    from sitelog.language.grammar_files import grammar_text

    assert grammar_text(name) == (CHECKOUT / "grammar" / name).read_text(encoding="utf-8")
    assert {path.name for path in (CHECKOUT / "grammar").iterdir()} == set(NAMES)


def test_the_version_stands_in_one_place(capsys):
    from sitelog import __version__
    from sitelog.cli.main import main

    assert PROJECT["tool"]["hatch"]["version"] == {"path": "sitelog/__init__.py"}
    written = re.findall(
        r'^__version__ = "(.+)"$', (CHECKOUT / "sitelog/__init__.py").read_text("utf-8"), re.MULTILINE
    )
    assert written == [__version__]
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"sitelog {__version__}\n"
    assert f"## {__version__} " in (CHECKOUT / "CHANGELOG.md").read_text("utf-8")


def test_the_command_exists():
    module, _, name = PROJECT["project"]["scripts"]["sitelog"].partition(":")
    assert callable(getattr(import_module(module), name))


def test_no_more_is_needed_to_run_than_said():
    names = {re.split(r"[<>=]", one)[0] for one in PROJECT["project"]["dependencies"]}
    assert names == {"lark", "pint", "tabulate"}

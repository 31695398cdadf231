"""What a wheel holds: every package, every data file, and a command that exists."""

import tomllib
from fnmatch import fnmatch
from importlib import import_module
from pathlib import Path

CHECKOUT = Path(__file__).parents[2]
PROJECT = tomllib.loads((CHECKOUT / "pyproject.toml").read_text(encoding="utf-8"))


def test_every_folder_with_modules_is_a_package():
    folders = {path.parent for path in (CHECKOUT / "sitelog").rglob("*.py")}
    assert folders
    assert [folder for folder in folders if not (folder / "__init__.py").exists()] == []


def test_every_data_file_is_package_data():
    patterns = PROJECT["tool"]["setuptools"]["package-data"]["*"]
    left_out = []
    for top in ("sitelog", "grammar"):
        for path in (CHECKOUT / top).rglob("*"):
            if path.is_dir() or path.suffix in (".py", ".pyc"):
                continue
            if not any(fnmatch(path.name, pattern) for pattern in patterns):
                left_out.append(path)
    assert left_out == []


def test_the_grammar_is_there():
    assert {"log.lark", "sheet.lark", "kit.lark", "query.lark"} <= {
        path.name for path in (CHECKOUT / "grammar").iterdir()
    }


def test_the_command_exists():
    module, _, name = PROJECT["project"]["scripts"]["sitelog"].partition(":")
    assert callable(getattr(import_module(module), name))

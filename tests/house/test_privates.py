"""Tests use what a room hands on. Where one reaches for a private name, privates.txt says why.

`pytest tests/house/test_privates.py --update-corpus` writes the list anew and keeps its reasons.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.listed import hold

TESTS = Path(__file__).parents[1]
LISTED = Path(__file__).with_name("privates.txt")
OF_NAMED_TUPLES = {"_replace", "_asdict", "_fields", "_make"}
OF_PYTHON = {
    "_exit",
    "_repr_html_",
    "_exceptions",
}  # os._exit; what a notebook calls; subprocess and the like
PATCHES = {"setattr", "delattr", "object"}


def _private(name: str) -> bool:
    return name.startswith("_") and not name.startswith("__") and name not in OF_NAMED_TUPLES | OF_PYTHON


def _reached(tree: ast.Module) -> Iterator[str]:
    """Private names that are imported from sitelog, taken from something else than `self`, or patched."""
    for node in ast.walk(tree):
        match node:
            case ast.ImportFrom(module=str(module)) if module.split(".")[0] == "sitelog":
                yield from (alias.name for alias in node.names if _private(alias.name))
            case ast.Attribute(value=value, attr=name) if _private(name):
                if not (isinstance(value, ast.Name) and value.id in ("self", "cls")):
                    yield name
            case ast.Call(func=ast.Attribute(attr=patch)) if patch in PATCHES:
                for argument in node.args[:2]:
                    if isinstance(argument, ast.Constant) and isinstance(argument.value, str):
                        name = argument.value.rpartition(".")[2]
                        if _private(name):
                            yield name


def reaches() -> list[str]:
    """A line for each file of tests with private names: the file, and the names."""
    found = []
    for path in sorted(TESTS.rglob("*.py")):
        names = sorted(set(_reached(ast.parse(path.read_text(encoding="utf-8")))))
        if names and path.parent.name != "mutation":
            found.append(f"{path.relative_to(TESTS).as_posix()}: {' '.join(names)}")
    return found


def test_private_names_are_used_where_it_is_said_why(update_corpus: bool) -> None:
    """What is not listed is asked of the room's public names."""
    hold(LISTED, reaches(), update_corpus)

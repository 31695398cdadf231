"""A name stands for one thing in the whole house, and no file is too long to be read at once.

What does not keep to it yet stands in names.txt, each with its reason. After a renaming:
`pytest tests/house/test_names.py --update-corpus`, and read the difference: the list may only shrink.
"""

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from tests.house.listed import hold

PACKAGE = Path(__file__).parents[2] / "sitelog"
LISTED = Path(__file__).with_name("names.txt")
MOST_LINES = 400
GENERATED = {"notation/quantities/factors.py"}


def _files() -> Iterator[tuple[str, str]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        yield path.relative_to(PACKAGE).as_posix(), path.read_text(encoding="utf-8")


def exceptions() -> list[str]:
    """What does not keep to the rule, a line each: what it is, and the files that share it."""
    classes, names, long = defaultdict(set), defaultdict(set), []
    for path, text in _files():
        if not path.endswith("__init__.py"):
            names[path.rpartition("/")[2]].add(path)
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.ClassDef):
                classes[node.name.strip("_")].add(path)
        if len(text.splitlines()) > MOST_LINES and path not in GENERATED:
            long.append(f"long {path}:")
    shared = [("class", classes), ("file", names)]
    return [
        f"{sort} {name}: {' '.join(sorted(found))}"
        for sort, table in shared
        for name, found in sorted(table.items())
        if len(found) > 1
    ] + long


def test_a_name_stands_for_one_thing(update_corpus: bool) -> None:
    """A class or file name that is there twice, or a file of more than 400 lines, is listed with a reason."""
    hold(LISTED, exceptions(), update_corpus, "to be renamed")

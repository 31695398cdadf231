"""DEVELOPERS.md says who may import whom, and who may touch the world; this holds the code to it."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

CHECKOUT = Path(__file__).parents[2]
PACKAGE = CHECKOUT / "sitelog"
TEXT = (CHECKOUT / "DEVELOPERS.md").read_text(encoding="utf-8")
EDGES = {"cli", "__main__"}

# What tells a reader of clocks and environments, or one who prints or ends the program.
OF_THE_EDGES = {
    "print",
    "input",
    "exit",
    "quit",
    "breakpoint",
    "sys.exit",
    "sys.argv",
    "sys.stdout",
    "sys.stderr",
    "os.environ",
    "os.getenv",
    "os._exit",
    "date.today",
    "datetime.now",
    "datetime.today",
    "datetime.utcnow",
    "datetime.date.today",
    "datetime.datetime.now",
    "time.time",
    "time.localtime",
    "time.monotonic",
    "time.perf_counter",
}
OPENS_FILES = {"open", "read_text", "read_bytes", "write_text", "write_bytes"}

MOST_LINES = 500  # blank ones not counted
GENERATED = {"quantities/factors.py"}


class Module(NamedTuple):
    """One module: its path in the package, its room, its tree."""

    path: str
    room: str
    tree: ast.Module

    def imported(self) -> Iterator[str]:
        """Every module it imports, at the top or inside a function."""
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Import):
                yield from (alias.name for alias in node.names)
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0, f"{self.path}:{node.lineno}: imports are written out"
                base = node.module or ""
                # `from sitelog import kinds` names a room, `from sitelog.kinds import Asked` a thing in it.
                yield from ([f"{base}.{one.name}" for one in node.names] if base == "sitelog" else [base])

    def used(self) -> Iterator[tuple[str, int]]:
        """Every name or dotted name that is used, with its line."""
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Name | ast.Attribute):
                yield ast.unparse(node), node.lineno


def _module(path: Path) -> Module:
    name = path.relative_to(PACKAGE)
    return Module(
        name.as_posix(), name.parts[0].removesuffix(".py"), ast.parse(path.read_text(encoding="utf-8"))
    )


MODULES = [_module(path) for path in sorted(PACKAGE.rglob("*.py"))]


def _table(first_column: str) -> list[list[str]]:
    body = TEXT.split(f"\n| {first_column} |", 1)[1].split("\n", 2)[2].split("\n\n", 1)[0]
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in body.splitlines()]


def _names(cell: str) -> set[str]:
    return set(re.findall(r"`([^`]+)`", cell))


MAP = {row[0].strip("`"): row for row in _table("room")}


def test_the_map_has_every_room():
    rooms = {module.room for module in MODULES} - {"__init__", "__main__"}
    assert set(MAP) == rooms
    assert [room for room, row in MAP.items() if len(row) != 4 or not row[1] or not row[3]] == []


@pytest.mark.parametrize("room", MAP)
def test_rooms_import_only_what_the_map_allows(room):
    allowed = set(MAP) if MAP[room][2] == "any" else _names(MAP[room][2])
    found = {
        (module.path, name)
        for module in MODULES
        if module.room == room
        for name in module.imported()
        if name.startswith("sitelog.") and name.split(".")[1] not in allowed | {room}
    }
    assert found == set()


def test_rooms_form_no_circle():
    left = {room: _names(row[2]) for room, row in MAP.items() if row[2] != "any"}
    while free := {room for room, needs in left.items() if not needs & left.keys()}:
        left = {room: needs for room, needs in left.items() if room not in free}
    assert left == {}


@pytest.mark.parametrize(("library", "places"), _table("library"))
def test_libraries_are_imported_in_their_places_only(library, places):
    allowed = _names(places)
    found = {
        module.path
        for module in MODULES
        for name in module.imported()
        if name.split(".")[0] == library.strip("`")
    }
    assert found
    folders = tuple(f"{name}/" for name in allowed)
    assert {path for path in found if path not in allowed and not path.startswith(folders)} == set()


def test_only_the_known_libraries_are_imported():
    import sys

    names = {name.split(".")[0] for module in MODULES for name in module.imported()}
    known = {"lark", "pint", "tabulate", "biip", "stdnum", "jinja2", "matplotlib", "PIL"}
    assert names - sys.stdlib_module_names - {"sitelog"} == known


def test_kinds_do_not_know_each_other():
    shared = {"sitelog.kinds.base", "sitelog.kinds.asked"}
    found = {
        (module.path, name)
        for module in MODULES
        if module.room == "kinds" and module.path != "kinds/__init__.py"
        for name in module.imported()
        if name.startswith("sitelog.kinds") and name not in shared
    }
    assert found == set()


def test_only_the_edges_print_exit_and_read_clocks_and_environment():
    found = [
        f"{module.path}:{line}: {name}"
        for module in MODULES
        if module.room not in EDGES and module.path != "quantities/generate.py"  # a tool for developers
        for name, line in module.used()
        if name in OF_THE_EDGES
    ]
    assert found == []


def test_few_modules_open_files():
    found = {
        module.path
        for module in MODULES
        if module.room not in EDGES
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call)
        and (
            (isinstance(node.func, ast.Name) and node.func.id == "open")
            or (isinstance(node.func, ast.Attribute) and node.func.attr in OPENS_FILES - {"open"})
        )
    }
    said = re.search(r"^Files are opened only in (.*?)\.$", TEXT, re.DOTALL | re.MULTILINE)
    assert said is not None
    assert found == _names(said[1])


def test_records_are_frozen():
    made = [
        (module.path, node.name, ast.unparse(decorator))
        for module in MODULES
        for node in ast.walk(module.tree)
        if isinstance(node, ast.ClassDef)
        for decorator in node.decorator_list
        if ast.unparse(decorator).startswith(("dataclass", "record"))
    ]
    assert made
    handed_on = [one for one in made if not one[0].startswith("trials/")]
    assert [one for one in handed_on if one[2] != "record"] == []


def test_every_module_says_what_it_is_for():
    assert [
        module.path for module in MODULES if module.tree.body and ast.get_docstring(module.tree) is None
    ] == []


def test_modules_are_small():
    lengths = {
        module.path: sum(map(bool, map(str.strip, (PACKAGE / module.path).read_text("utf-8").splitlines())))
        for module in MODULES
    }
    assert {path: n for path, n in lengths.items() if n > MOST_LINES and path not in GENERATED} == {}

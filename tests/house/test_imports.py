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
CLOCK = "base/clock.py"
GENERATOR = "notation/quantities/generate.py"  # a tool for developers

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


DOOR = {path.stem for path in PACKAGE.glob("*.py")} - {"__main__"}


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
                # `from sitelog import files` names a room, `from sitelog.files import source` a part of it.
                yield from ([f"{base}.{one.name}" for one in node.names] if base == "sitelog" else [base])

    def used(self) -> Iterator[tuple[str, int]]:
        """Every name or dotted name that is used, with its line."""
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Name | ast.Attribute):
                yield ast.unparse(node), node.lineno


def _module(path: Path) -> Module:
    name = path.relative_to(PACKAGE)
    return Module(
        name.as_posix(), _room(name.parts[0].removesuffix(".py")), ast.parse(path.read_text(encoding="utf-8"))
    )


def _room(name: str) -> str:
    """The room of a folder or a module of the package; what `__init__` offers stands in modules beside it."""
    return "__init__" if name in DOOR else name


MODULES = [_module(path) for path in sorted(PACKAGE.rglob("*.py"))]


def _table(first_column: str) -> list[list[str]]:
    body = TEXT.split(f"\n| {first_column} |", 1)[1].split("\n", 2)[2].split("\n\n", 1)[0]
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in body.splitlines()]


def _names(cell: str) -> set[str]:
    return set(re.findall(r"`([^`]+)`", cell))


PICTURE = TEXT.split("\n## The map\n", 1)[1].split("```")[1]
MAP = {line.split()[0]: set(line.split("→")[1].split()) for line in PICTURE.strip().splitlines()}
MOST_ROOMS = 14


def test_the_map_has_every_room():
    rooms = {module.room for module in MODULES} - {"__main__"}
    assert set(MAP) == rooms
    assert len(rooms) <= MOST_ROOMS


@pytest.mark.parametrize("room", MAP)
def test_rooms_import_what_the_map_says_and_nothing_else(room):
    found = {
        "__init__" if name == "sitelog" else _room(name.split(".")[1])
        for module in MODULES
        if module.room == room
        for name in module.imported()
        if name.split(".")[0] == "sitelog"
    }
    assert found - {room} == MAP[room]


def test_the_map_names_a_room_after_those_that_may_import_it():
    names = list(MAP)
    assert [
        (room, needs) for at, room in enumerate(names) for needs in MAP[room] if needs in names[:at]
    ] == []


def test_every_room_says_what_comes_in_what_goes_out_and_what_it_may_not_know():
    doors = {
        module.room: ast.get_docstring(module.tree) or ""
        for module in MODULES
        if module.path == f"{module.room}/__init__.py"
    }
    assert [
        (room, word)
        for room, text in doors.items()
        for word in ("In:", "Out:", "Knows no")
        if room not in ("base", "__init__")
        if word not in text
    ] == []


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
    known = {"lark", "pint", "tabulate", "biip", "stdnum", "jinja2", "PIL"}
    assert names - sys.stdlib_module_names - {"sitelog"} == known


def test_kinds_do_not_know_each_other():
    shared = {f"sitelog.language.kinds.{name}" for name in ("base", "kind", "requirement")}
    found = {
        (module.path, name)
        for module in MODULES
        if module.path.startswith("language/kinds/") and module.path != "language/kinds/__init__.py"
        for name in module.imported()
        if name.startswith("sitelog.language.kinds") and name not in shared
    }
    assert found == set()


def test_only_the_edges_print_exit_and_read_clocks_and_environment():
    found = [
        f"{module.path}:{line}: {name}"
        for module in MODULES
        if module.room not in EDGES
        and module.path
        not in (CLOCK, "notation/quantities/generate.py")  # the one clock; a tool for developers
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
    handed_on = [one for one in made if not one[0].startswith("files/trials/")]
    assert [one for one in handed_on if one[2] != "record"] == []


def test_every_module_says_what_it_is_for():
    assert [
        module.path for module in MODULES if module.tree.body and ast.get_docstring(module.tree) is None
    ] == []

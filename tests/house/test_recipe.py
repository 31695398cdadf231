"""The recipes of DEVELOPERS.md, followed on a copy with what is invented: two kinds, a unit, a finding."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parents[2]

FAMILY = '''"""Invented for a test: circuits that were flushed, and how far a base is out of level."""

from __future__ import annotations

from collections.abc import Iterator

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Place, Reader, Record, Value, share
from sitelog.language.kinds.kind import LogKind, SheetKind
from sitelog.language.kinds.requirement import Requirement, asked, limit_nodes, limits_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sitelog.language.kinds.kind import Draft

LENGTH = ("length",)


@record
class Flushed(Record):
    """Circuits that were flushed."""

    places: tuple[Place, ...]


@record
class Level(Record):
    """How far bases are out of level."""

    places: tuple[Place, ...]
    values: tuple[Value, ...]


def read_flushed(reader: Reader) -> Flushed:
    """`flushed PLACES`."""
    return Flushed(reader.head(), reader.places())


def read_level(reader: Reader) -> Level | None:
    """`level PLACES VALUES`."""
    places = reader.places()
    values = share(reader, places, reader.values(reader.node("values"), LENGTH))
    return Level(reader.head(), places, values) if values is not None else None


def read_asked_level(reader: Reader) -> list[Requirement]:
    """`level PLACES LIMIT`."""
    places = tuple(place.name for place in reader.places())
    return asked(reader, "level", "", places, limits_of(reader, limit_nodes(reader), LENGTH))


def observe_level(level: Level) -> Iterator[Draft]:
    """One value for each base."""
    for place, value in zip(level.places, level.values, strict=False):
        if value.quantity is not None:
            yield "level", "", place.name, "final", value.quantity, None, "", (), value.start, value.end


LOG_KINDS = (
    LogKind("flushed", read_flushed, "flushed circuit-1"),
    LogKind("level", read_level, "level base-1 3 mm", makes="level", observe=observe_level, waits=True),
)
SHEET_KINDS = (
    SheetKind(
        "level",
        read_asked_level,
        "value within limits",
        "level {places}  {blanks} mm{with}",
        "level base-1..2 <= 5 mm",
        placed=True,
        unknown="place",
        measures="length",
    ),
)
'''
_RULES = "flushed: KIND_FLUSHED places _own*\nlevel: KIND_LEVEL loose_places values _own*\n"
TITLE = "====================\none\n{role}====================\n"
CORPUS = {
    "log/flushed.txt": ("", "flushed circuit-1\n---\n---\n"),
    "log/level.txt": ("", "level base-1 3 mm\n---\n---\n"),
    "sheet/level.txt": (":sheet\n", "level base-1..2 <= 5 mm\n---\n---\n"),
}
LOG = "site here\nsheet asks\ncrew mo lead\nday 2026-03-02\nflushed circuit-1\nlevel {}\n"


@pytest.fixture(scope="module")
def copy(tmp_path_factory):
    """A copy of the checkout, without what only its history and its caches need."""
    there = tmp_path_factory.mktemp("recipe") / "checkout"
    skipped = shutil.ignore_patterns(".git", "__pycache__", ".*_cache", "browser", "node_modules")
    shutil.copytree(CHECKOUT, there, ignore=skipped)
    return there


def _run(copy: Path, *arguments: str) -> str:
    environment = os.environ | {"PYTHONPATH": str(copy), "SITELOG_CACHE": "", "COLUMNS": "100"}
    done = subprocess.run(
        [sys.executable, "-m", *arguments], cwd=copy, env=environment, capture_output=True, text=True
    )
    return done.stdout + done.stderr


def _tests(copy: Path, *which: str) -> str:
    return _run(copy, "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", *which)


def _passed(found: str) -> bool:
    return " passed" in found and "failed" not in found and "error" not in found


def _change(path: Path, *pairs: tuple[str, str]) -> None:
    text = path.read_text(encoding="utf-8")
    for old, new in pairs:
        assert text.count(old) == 1, (path.name, old)
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")


def test_two_invented_kinds(copy):
    """Each step of the recipe, with the test that asks for the next one."""
    # 1. the grammar; the test of the grammars asks for a row
    _change(
        copy / "grammar" / "log.lark",
        ("      | serial | swap |", "      | flushed | level\n      | serial | swap |"),
        ("loosed:      KIND_LOOSED", _RULES + "loosed:      KIND_LOOSED"),
        ("KIND_LOOSED.5:", 'KIND_FLUSHED.5: "flushed"i\nKIND_LEVEL.5: "level"i\nKIND_LOOSED.5:'),
    )  # fmt: skip
    _change(
        copy / "grammar" / "sheet.lark",
        ("      | part | hole |", "      | level | part | hole |"),
        ("joint:       KIND_JOINT", "level: KIND_LEVEL places _limits? _clause*\njoint:       KIND_JOINT"),
        ("KIND_JOINT.5:", 'KIND_LEVEL.5: "level"i\nKIND_JOINT.5:'),
    )
    found = _tests(copy, "tests/syntax/test_grammar.py", "-k", "kinds_and_readers")
    assert "failed" in found, found
    assert "flushed" in found, found
    assert "level" in found, found
    # 2. reader and row in a family's file; the corpus is asked for
    (copy / "sitelog" / "language" / "kinds" / "invented.py").write_text(FAMILY, encoding="utf-8")
    _change(
        copy / "sitelog" / "language" / "kinds" / "__init__.py",
        ("import electric, header, hole,", "import electric, header, hole, invented,"),
        ("(header, step,", "(invented, header, step,"),
        ("in (part, hole, torque,", "in (invented, part, hole, torque,"),
    )
    found = _tests(copy, "tests/syntax/test_grammar.py", "tests/house/test_kinds.py")
    assert _passed(found), found
    found = _tests(copy, "tests/corpus/test_corpus.py", "-k", "every_kind_has_its_file")
    assert "flushed" in found, found
    assert "level" in found, found
    # 3. the corpus, of which the expected parts are written and then read
    for name, (role, text) in CORPUS.items():
        (copy / "tests" / "corpus" / name).write_text(TITLE.format(role=role) + text, encoding="utf-8")
    _tests(copy, "tests/corpus/test_corpus.py", "-k", "flushed or level", "--update-corpus")
    found = _tests(copy, "tests/corpus/test_corpus.py", "-k", "flushed or level or every_kind_has_its_file")
    assert _passed(found), found
    assert "error" not in (copy / "tests" / "corpus" / "log" / "level.txt").read_text(encoding="utf-8")
    # 4. it works everywhere
    folder = copy / "site"
    folder.mkdir()
    (folder / "asks.sheet").write_text("sheet asks\nlevel base-1..2 <= 5 mm\n", encoding="utf-8")
    log = folder / "here.site"
    log.write_text(LOG.format("base-1..2 3 7 mm"), encoding="utf-8")
    found = _run(copy, "sitelog", "check", str(log), "--today", "2026-03-03")
    assert "over" in found, found
    assert "Traceback" not in found
    log.write_text(LOG.format("base-1..2 3 ___ mm"), encoding="utf-8")
    found = _run(copy, "sitelog", "gaps", str(log), "--today", "2026-03-03")
    assert "base-2" in found, found
    log.write_text(LOG.format("bse-1 3 mm"), encoding="utf-8")
    found = _run(copy, "sitelog", "check", str(log), "--today", "2026-03-03")
    assert "unknown-place" in found, found
    found = _run(copy, "sitelog", "ask", "entries where kind = flushed", str(log), "--today", "2026-03-03")
    assert "flushed circuit-1" in found, found
    found = _run(
        copy, "sitelog", "start", "there", str(folder), "--sheet", "asks", "--today", "2026-03-03", "-o", "-"
    )
    assert "base-1, base-2  ___ ___ mm   # asked <= 5 mm" in found, found


def test_an_invented_spelling_of_a_unit(copy):
    """A line in the table of units, and the factors made anew: a log may be written in it."""
    log = copy / "one.site"
    log.write_text(
        "site one\nsheet none\ncrew mo lead\nday 2026-03-02\ntorque lug-1 12 NwM\n", encoding="utf-8"
    )
    assert "unknown-unit" in _run(copy, "sitelog", "check", str(log))
    units = copy / "sitelog" / "notation" / "quantities" / "units.txt"
    _change(units, ("N.m N·m N*m N-m | SI; trade\ncNm", "N.m N·m N*m N-m NwM | SI; trade\ncNm"))
    _run(copy, "sitelog.notation.quantities.generate")
    assert "unknown-unit" not in _run(copy, "sitelog", "check", str(log))
    assert "value (Nm)" in _run(copy, "sitelog", "ask", "torques show value", str(log), "--no-index")


def test_an_invented_finding(copy):
    """A slug, for which the tests ask a page, and the page, whose logs they run."""
    catalog = copy / "sitelog" / "findings" / "catalog.py"
    _change(
        catalog, ('    "photos": (\n', '    "photos": (\n        Slug("photo-odd", _INFO, "invented"),\n')
    )
    found = _tests(copy, "tests/house/test_developers.py", "-k", "every_finding_has_a_page")
    assert "photo-odd" in found, found
    pages = copy / "sitelog" / "findings" / "pages"
    page = (pages / "photo-absent.md").read_text(encoding="utf-8").replace("photo-absent", "photo-odd")
    (pages / "photo-odd.md").write_text(page, encoding="utf-8")
    found = _tests(copy, "tests/findings", "-k", "photo-odd")
    assert "failed" in found, found  # nothing says the new slug yet: the page's wrong log is run

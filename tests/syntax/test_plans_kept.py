"""Plans kept between runs: used where they fit, passed over where they do not, never half written."""

import marshal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from zlib import crc32

import pytest

from sitelog.base import cache_files
from sitelog.language.syntax import kept, parse_line, parser, save_plans, use_cache
from sitelog.language.syntax.grammars import ROLES
from tests.bench.fleet import KIT, SHEET, logs
from tests.syntax.plainly import plainly

_ROOT = Path(__file__).parents[2]
_LOG = next(logs(40, seed=21))
_READ = """
import sys
from sitelog.language.syntax import parse_line, save_plans, use_cache
use_cache(sys.argv[1])
for number, line in enumerate(sys.stdin.read().split("\\n"), 1):
    for _ in range(int(sys.argv[2])):
        print(parse_line("log", line, number))
    if len(sys.argv) > 3:
        save_plans()
save_plans()
print("lark" in sys.modules)
"""


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A folder in use for plans."""
    use_cache(str(tmp_path))
    yield tmp_path
    use_cache("")


def _start(folder: Path, *more: str) -> "subprocess.Popen[str]":
    command = [sys.executable, "-c", _READ, str(folder), "1", *more]
    pipe = subprocess.PIPE
    return subprocess.Popen(
        command, stdin=pipe, stdout=pipe, stderr=pipe, text=True, encoding="utf-8", cwd=_ROOT
    )


def _run(folder: Path, lines: list[str]) -> list[str]:
    process = _start(folder)
    out, err = process.communicate("\n".join(lines))
    assert (process.returncode, err) == (0, "")
    return out.split("\n")[:-1]


def _learn(folder: Path) -> Path:
    for role, lines in (("log", _LOG), ("sheet", SHEET.split("\n")), ("kit", KIT.split("\n"))):
        for number, line in enumerate(lines, 1):
            parse_line(role, line, number)
    save_plans()
    return folder / "log.plans"


def test_known_log_needs_no_lark(tmp_path: Path) -> None:
    """A second run on the same log, and on its like, reads the same without importing Lark."""
    lines = [*_LOG, "08:00 torqe b-1 12 Nm", "08:00 torque b-1 12 Nm with"]
    first = _run(tmp_path, lines)
    second = _run(tmp_path, lines)
    assert (first.pop(), second.pop()) == ("True", "False")
    assert first == second
    assert (tmp_path / "log.plans").stat().st_size < 60_000


def test_learning_goes_on_with_kept_tables(tmp_path: Path) -> None:
    """A run that finds Lark's tables, but not the plans for its lines, learns them as the first did."""
    _run(tmp_path, ["site quay-1"])
    assert _run(tmp_path, _LOG)[-1] == "True"
    assert _run(tmp_path, _LOG)[-1] == "False"


def test_another_grammar_makes_other_plans() -> None:
    """The sum that a file is known by differs from role to role."""
    assert len({kept.made_for(role) for role in ROLES}) == len(ROLES)


def test_kept_plans_read_as_lark(folder: Path) -> None:
    """What a file gives is what Lark gives."""
    _learn(folder)
    use_cache(str(folder))
    for number, line in enumerate(_LOG, 1):
        assert parse_line("log", line, number) == plainly("log", line, number)
    assert not any(parser._plans["log"]._new)


def test_nothing_is_kept_unasked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a folder nothing is written; with nothing new the file is left alone."""
    monkeypatch.chdir(tmp_path)
    use_cache("")
    parse_line("log", "did x", 1)
    save_plans()
    assert list(tmp_path.iterdir()) == []


def test_unchanged_file_is_left_alone(folder: Path) -> None:
    """A run that learns nothing writes nothing."""
    path = _learn(folder)
    before = path.stat()
    use_cache(str(folder))
    parse_line("log", _LOG[9], 1)
    save_plans()
    assert (path.stat().st_mtime_ns, path.stat().st_ino) == (before.st_mtime_ns, before.st_ino)


@pytest.mark.parametrize(
    "damage", ["empty", "short", "byte", "noise", "foreign", "version", "shape", "huge", "folder"]
)
def test_damaged_files_are_passed_over(folder: Path, damage: str) -> None:
    """A file that is damaged, foreign or of another version does no harm and is made again."""
    path = _learn(folder)
    good = path.read_bytes()
    other = marshal.dumps(("another version", {}, {}, {}))
    path.unlink()
    match damage:
        case "empty":
            path.write_bytes(b"")
        case "short":
            path.write_bytes(good[: len(good) // 2])
        case "byte":
            path.write_bytes(good[:200] + bytes([good[200] ^ 1]) + good[201:])
        case "noise":
            path.write_bytes(bytes(range(256)) * 20)
        case "foreign":
            path.write_bytes(b"%08x" % crc32(b"not marshalled") + b"not marshalled")
        case "version":
            path.write_bytes(b"%08x" % crc32(other) + other)
        case "shape":
            body = marshal.dumps((kept.made_for("log"), {}))
            path.write_bytes(b"%08x" % crc32(body) + body)
        case "huge":
            path.write_bytes(good + bytes(cache_files.LARGEST))
        case "folder":
            path.mkdir()
    use_cache(str(folder))
    for number, line in enumerate(_LOG, 1):
        assert parse_line("log", line, number) == plainly("log", line, number)
    save_plans()
    if damage != "folder":
        assert kept.read(str(path), "log") is not None
    assert [one.name for one in folder.iterdir() if one.name.endswith(".new")] == []


def test_every_cut_is_noticed(folder: Path) -> None:
    """A file cut anywhere is not read."""
    path = _learn(folder)
    good = path.read_bytes()
    for length in range(0, len(good), 97):
        path.write_bytes(good[:length])
        assert kept.read(str(path), "log") is None


def test_folder_that_cannot_be_written(tmp_path: Path) -> None:
    """Where the folder cannot be made, lines are read all the same."""
    (tmp_path / "file").write_text("in the way")
    use_cache(str(tmp_path / "file" / "folder"))
    try:
        assert parse_line("kit", "tool PU1 proving-unit", 1)[0].kind == "tool"
        save_plans()
        assert (tmp_path / "file").read_text() == "in the way"
    finally:
        use_cache("")


def test_what_others_learnt_is_kept(folder: Path) -> None:
    """Two that learn different things one after the other leave both in the file."""
    path = str(folder / "log.plans")
    one = kept.Learnt({b"a": (("WORD", 0, 1),)}, {}, {}, {})
    other = kept.Learnt({b"b": (("WORD", 0, 1),)}, {("WORD",): (None, None, -1, -1)}, {}, {})
    assert kept.write(path, "log", one)
    assert kept.write(path, "log", other)
    there = kept.read(path, "log")
    assert there is not None
    assert sorted(there.chunks) == [b"a", b"b"]
    assert list(there.shapes) == [("WORD",)]


def test_file_stays_small(folder: Path) -> None:
    """However much is learnt, the file holds its caps: the first that was learnt and the last."""
    path = folder / "log.plans"
    chunks: dict[bytes, kept.Raw] = {b"%060d" % number: (("WORD", 0, 60),) for number in range(20_000)}
    assert kept.write(str(path), "log", kept.Learnt(chunks, {}, {}, {}))
    there = kept.read(str(path), "log")
    assert there is not None
    assert len(there.chunks) == kept.MOST_CHUNKS
    assert {b"%060d" % 0, b"%060d" % 19_999} <= set(there.chunks)
    assert path.stat().st_size < 400_000


def test_two_writers(tmp_path: Path) -> None:
    """Processes that write the same file at once leave a whole file, and each reads rightly."""
    expected = _run(tmp_path / "alone", _LOG)[:-1]
    processes = [_start(tmp_path / "both", "saving after each line") for _ in range(2)]
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("\n".join(_LOG))
        process.stdin.close()
        process.stdin = None
    for process in processes:
        out, err = process.communicate()
        assert (process.returncode, err) == (0, "")
        assert out.split("\n")[:-2] == expected
    assert kept.read(str(tmp_path / "both" / "log.plans"), "log") is not None
    assert sorted(one.name for one in (tmp_path / "both").iterdir() if ".new" in one.name) == []

"""Questions kept between runs: the tree that was parsed, used where it fits, else passed over."""

import marshal
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from zlib import crc32

import pytest

from sitelog.asking.question import cache
from sitelog.asking.question.errors import QuestionError
from sitelog.asking.question.grammar import use_cache
from sitelog.asking.question.read import parse
from sitelog.asking.subjects import SUBJECTS
from sitelog.base import cache_files
from tests.ask.test_corpus import ALL

_ROOT = Path(__file__).parents[2]
_QUESTION = "share of joints passing at quay-* where value >= 12 Nm and not (by is mo) per by"
_PARSE = """
import sys
from sitelog.asking.question.grammar import use_cache
from sitelog.asking.question.read import parse
use_cache(sys.argv[1])
for question in sys.argv[2:]:
    print(parse(question))
print("lark" in sys.modules)
"""


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A folder in use for questions."""
    use_cache(str(tmp_path))
    yield tmp_path
    use_cache("")


def _questions() -> list[str]:
    return list(dict.fromkeys(case.tried for case in ALL))


def _start(folder: Path, *questions: str) -> "subprocess.Popen[str]":
    command = [sys.executable, "-c", _PARSE, str(folder), *questions]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=_ROOT)


def _run(folder: Path, *questions: str) -> list[str]:
    process = _start(folder, *questions)
    out, err = process.communicate()
    assert (process.returncode, err) == (0, "")
    return out.split("\n")[:-1]


def test_kept_trees_are_the_parsed_ones(folder: Path) -> None:
    """For every question of the corpus that is one: equal, of the same classes, with the same columns."""
    count = 0
    for question in _questions():
        use_cache("")
        try:
            parsed = parse(question, SUBJECTS)
        except QuestionError:
            use_cache(str(folder))
            with pytest.raises(QuestionError):
                parse(question, SUBJECTS)
            assert cache.find(str(folder), question) is None
            continue
        assert cache.keep(str(folder), parsed) == (len(question) <= cache.LONGEST)
        if len(question) <= cache.LONGEST:
            found = cache.find(str(folder), question)
            assert found == parsed
            assert repr(found) == repr(parsed)  # tuples of two classes can be equal
            count += 1
    assert count > 100


def test_a_known_question_needs_no_lark(tmp_path: Path) -> None:
    """The second run gives the same tree; one question that is new brings Lark back."""
    first = _run(tmp_path, _QUESTION)
    second = _run(tmp_path, _QUESTION)
    assert (first.pop(), second.pop()) == ("True", "False")
    assert first == second
    assert _run(tmp_path, _QUESTION, "joints")[-1] == "True"
    assert _run(tmp_path, "joints", _QUESTION)[-1] == "False"


def test_the_command_answers_alike(tmp_path: Path) -> None:
    """`sitelog ask` says the same the first time and later, and loads Lark the first time only."""
    environment = os.environ | {"SITELOG_CACHE": str(tmp_path / "kept"), "PYTHONPATH": str(_ROOT)}
    question = ["ask", "joints under torque", "example_logs", "--today", "2026-11-25"]
    say = (
        "import sys; from sitelog.cli.main import main; status = main(sys.argv[1:]);"
        "print('lark' in sys.modules, file=sys.stderr); sys.exit(status)"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", say, *question], cwd=_ROOT, env=environment, capture_output=True, text=True
        )
        for _ in range(2)
    ]
    assert [run.stderr.split("\n")[-2] for run in runs] == ["True", "False"]
    assert runs[0].stdout == runs[1].stdout != ""
    assert runs[0].returncode == runs[1].returncode == 0


def test_nothing_is_kept_unasked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a folder nothing is written."""
    monkeypatch.chdir(tmp_path)
    use_cache("")
    parse(_QUESTION)
    assert list(tmp_path.iterdir()) == []


def test_a_known_question_writes_nothing(folder: Path) -> None:
    """The file is left alone."""
    parse(_QUESTION)
    before = (folder / cache.FILE).stat()
    parse(_QUESTION)
    after = (folder / cache.FILE).stat()
    assert (before.st_mtime_ns, before.st_ino) == (after.st_mtime_ns, after.st_ino)


def _framed(body: bytes) -> bytes:
    return b"%08x" % crc32(body) + body


def _with(packed: object) -> bytes:
    return _framed(marshal.dumps((cache.made_for(), {_QUESTION: packed})))


_DAMAGES = {
    "empty": lambda good: b"",
    "short": lambda good: good[: len(good) // 2],
    "byte": lambda good: good[:60] + bytes([good[60] ^ 1]) + good[61:],
    "noise": lambda good: bytes(range(256)) * 20,
    "foreign": lambda good: _framed(b"not marshalled"),
    "number": lambda good: _framed(marshal.dumps(7)),
    "version": lambda good: _framed(marshal.dumps(("another version", {}))),
    "shape": lambda good: _framed(marshal.dumps((cache.made_for(), 7))),
    "huge": lambda good: good + bytes(cache_files.LARGEST),
    "no bytes": lambda good: _with(7),
    "no tree": lambda good: _with(b"not marshalled"),
    "a word": lambda good: _with(marshal.dumps(("Word", "joints", 1, 7, False))),
    "nothing known": lambda good: _with(marshal.dumps(("Wordy", "joints"))),
    "nothing": lambda good: _with(marshal.dumps(())),
    "too few": lambda good: _with(marshal.dumps(("Question", "joints"))),
    "another's": lambda good: _with(
        marshal.dumps(
            (
                "Question",
                "tools",
                ("Word", "tools", 1, 6, False),
                None,
                None,
                ("",),
                ("",),
                ("",),
                ("",),
                None,
            )
        )
    ),
}


@pytest.mark.parametrize("damage", _DAMAGES)
def test_damaged_files_are_passed_over(folder: Path, damage: str) -> None:
    """A file that is damaged, foreign or of another version does no harm and is made again."""
    parsed = parse(_QUESTION)
    path = folder / cache.FILE
    path.write_bytes(_DAMAGES[damage](path.read_bytes()))
    assert parse(_QUESTION) == parsed
    assert cache.find(str(folder), _QUESTION) == parsed
    assert [one.name for one in folder.iterdir() if one.name.endswith(".new")] == []


def test_every_cut_is_noticed(folder: Path) -> None:
    """A file cut anywhere is not read."""
    parse(_QUESTION)
    path = folder / cache.FILE
    good = path.read_bytes()
    for length in range(len(good)):
        path.write_bytes(good[:length])
        assert cache.find(str(folder), _QUESTION) is None


def test_a_folder_in_the_way(folder: Path) -> None:
    """Where the file cannot be written, questions are parsed all the same."""
    (folder / cache.FILE).mkdir()
    assert parse(_QUESTION) == parse(_QUESTION)
    assert cache.find(str(folder), _QUESTION) is None


def test_the_file_stays_small(folder: Path) -> None:
    """However much is asked, the newest questions are kept, and no more than is quick to read."""
    short = parse("joints")
    for number in range(cache.MOST + 20):
        assert cache.keep(str(folder), short._replace(text=f"joints {number}"))
    assert cache.find(str(folder), "joints 19") is None
    assert cache.find(str(folder), "joints 20") is not None
    wide = parse("joints at " + ", ".join("abcdefgh" * 12))
    assert len(wide.text) <= cache.LONGEST
    for number in range(cache.MOST):
        assert cache.keep(str(folder), wide._replace(text=f"{wide.text[:280]} {number}"))
    assert cache.find(str(folder), f"{wide.text[:280]} {cache.MOST - 1}") is not None
    assert (folder / cache.FILE).stat().st_size <= cache_files.LARGEST


@pytest.mark.parametrize(
    "deep", ["joints where " + "not " * 65 + "day = today", "joints where " + "(" * 50 + "x=1" + ")" * 50]
)
def test_deep_questions_come_back(folder: Path, deep: str) -> None:
    """As deep as a kept question can be."""
    parsed = parse(deep)
    assert cache.find(str(folder), deep) == parsed


def test_long_questions_are_not_kept(folder: Path) -> None:
    """They are parsed each time, and leave nothing behind."""
    parsed = parse("joints at " + ", ".join(["quay-14"] * 100))
    assert not (folder / cache.FILE).exists()
    assert parse(parsed.text) == parsed


def test_two_writers(tmp_path: Path) -> None:
    """Processes that keep questions at once leave a whole file."""
    asked = [[f"joints first {number}" for number in range(start, 40, 2)] for start in (1, 2)]
    processes = [_start(tmp_path, *questions) for questions in asked]
    for process in processes:
        _, err = process.communicate()
        assert (process.returncode, err) == (0, "")
    parts = cache_files.read(str(tmp_path / cache.FILE), cache.made_for())
    assert parts is not None
    assert set(parts[0]) & {"joints first 39", "joints first 38"}
    assert sorted(one.name for one in tmp_path.iterdir() if ".new" in one.name) == []

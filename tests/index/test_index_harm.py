"""What can happen to an index, done to real files: the answer stays what the files say, without a traceback.

The ways to harm a file are common practice, no source; that SQLite gives back what stood before a process was
killed is what its authors say (SQLite documentation, "Atomic Commit In SQLite").
"""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import sitelog
from tests.index.fleets import TODAY, kept, log, plain, write

CHECKOUT = Path(__file__).parents[2]
QUESTION = "joints where value > 1 Nm show site, place, value"


def _command(fleet: Path, cache: Path | str, *more: str) -> list[str]:
    return [sys.executable, "-m", "sitelog", "ask", QUESTION, str(fleet), "--today", str(TODAY), *more]


def _environment(cache: Path | str) -> dict[str, str]:
    return os.environ | {"SITELOG_CACHE": str(cache), "PYTHONPATH": str(CHECKOUT)}


def _ask(fleet: Path, cache: Path | str, *more: str) -> tuple[int, str, str]:
    """Status, answer and complaints of `ask`."""
    done = subprocess.run(
        _command(fleet, cache, *more), env=_environment(cache), capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout, done.stderr


def _values(fleet: Path, cache: Path | str) -> list[str]:
    return [row.text for row in sitelog.load(fleet, TODAY, cache=str(cache)).ask(QUESTION)]


def _index_of(cache: Path) -> Path:
    (path,) = cache.glob("*.index")
    return path


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return write(tmp_path / "fleet")


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


# ---- several at once, and an end at any moment -----------------------------------------------------
def test_processes_at_once_all_answer_right(fleet: Path, cache: Path) -> None:
    for value in ("11.9", "11.8"):  # made anew by all of them at once; then brought up to date by all at once
        (fleet / "quay-2.site").write_text(log("quay-2", 20, value), encoding="utf-8")
        expected = _ask(fleet, "")
        assert f"{value}" in expected[1]
        running = [
            subprocess.Popen(
                _command(fleet, cache),
                env=_environment(cache),
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )
            for _ in range(4)
        ]
        found = [(*process.communicate(), process.returncode) for process in running]
        assert found == [(expected[1], expected[2], expected[0])] * 4
    assert kept(fleet, cache) == plain(fleet)


KILLED = """
import os, signal, sys
from sitelog.asking.store.keeping import KeptStore
from tests.index.fleets import opened
from pathlib import Path
left = int(sys.argv[3])
def fatal(name):
    made = getattr(KeptStore, name)
    def wrapped(self, *args, **more):
        global left
        left -= 1
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return made(self, *args, **more)
    setattr(KeptStore, name, wrapped)
for name in ("_do", "_many"):
    fatal(name)
kept_open = KeptStore._lend
def lend(self, subjects, connection):
    kept_open(self, subjects, connection)
    connection.execute("PRAGMA cache_size = 2")  # so that pages reach the disk before the end
KeptStore._lend = lend
opened(Path(sys.argv[1]), Path(sys.argv[2]))
"""


@pytest.mark.parametrize("moment", [1, 3, 20, 41, 60, 90, 110, 121, 150, 200, 260, 300])
def test_killed_at_any_moment_it_holds_what_stood_before(fleet: Path, cache: Path, moment: int) -> None:
    if moment % 2 == 0:  # killed while it is brought up to date, not while it is made
        kept(fleet, cache)
        for number in range(1, 4):
            (fleet / f"quay-{number}.site").write_text(log(f"quay-{number}", 10, "11.7"), encoding="utf-8")
    command = [sys.executable, "-c", KILLED, str(fleet), str(cache), str(moment)]
    done = subprocess.run(command, env=_environment(cache), cwd=CHECKOUT, capture_output=True, check=False)
    assert done.returncode in (-signal.SIGKILL, 0), done.stderr
    assert moment > 260 or (moment % 2 and moment > 120) or done.returncode == -signal.SIGKILL
    assert kept(fleet, cache) == plain(fleet)


# ---- a disk that does not take it ------------------------------------------------------------------
FULL = """
import resource, sys
from sitelog.cli.main import main
resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
sys.exit(main(sys.argv[1:]))
"""


def test_on_a_full_disk_the_files_themselves_are_read(fleet: Path, cache: Path) -> None:
    expected = _ask(fleet, "")
    command = [sys.executable, "-c", FULL, *_command(fleet, cache)[3:]]
    done = subprocess.run(command, env=_environment(cache), capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == expected
    assert list(cache.glob("*.index")) == []
    kept(fleet, cache)  # with room again
    assert _ask(fleet, cache) == expected


@pytest.mark.parametrize("place", ["/proc/sitelog", "file/cache"])
def test_where_nothing_can_be_written_the_files_themselves_are_read(
    fleet: Path, tmp_path: Path, place: str
) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert _ask(fleet, tmp_path / place) == _ask(fleet, "")


def test_an_index_that_may_only_be_read_serves_while_it_is_right(fleet: Path, cache: Path) -> None:
    expected = kept(fleet, cache)
    path = _index_of(cache)
    path.chmod(0o444)
    cache.chmod(0o555)
    try:
        assert kept(fleet, cache) == expected
        (fleet / "quay-2.site").write_text(log("quay-2", 20, "11.6"), encoding="utf-8")
        assert _ask(fleet, cache) == _ask(fleet, "")
    finally:
        cache.chmod(0o755)


def test_without_a_folder_or_with_the_switch_nothing_is_kept(fleet: Path, cache: Path) -> None:
    expected = _ask(fleet, cache)
    path = _index_of(cache)
    path.unlink()
    assert _ask(fleet, cache, "--no-index") == expected
    assert _ask(fleet, "") == expected
    assert list(cache.glob("*.index")) == []


# ---- a file that is not what it was ----------------------------------------------------------------
def _overwrite(start: float, length: int) -> Callable[[Path], None]:
    def harm(path: Path) -> None:
        with path.open("r+b") as stream:
            stream.seek(int(path.stat().st_size * start))
            stream.write(b"\xa5" * length)

    return harm


def _foreign(path: Path) -> None:
    path.unlink()
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE joints (site TEXT)")
    connection.commit()
    connection.close()


def _older(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.execute("UPDATE kept_facts SET value = 'older' WHERE name = 'version'")
    connection.execute("UPDATE joints SET value = 99")
    connection.commit()
    connection.close()


HARM: dict[str, Callable[[Path], None]] = {
    "empty": lambda path: path.write_bytes(b""),
    "text": lambda path: path.write_text("site quay-1\n" * 999, encoding="utf-8") and None,
    "no head": _overwrite(0, 100),
    "no schema": _overwrite(0, 4096),
    "a hole near its begin": _overwrite(0.02, 40_000),
    "a hole in the middle": _overwrite(0.5, 60_000),
    "all but the first page": lambda path: _overwrite(4096 / path.stat().st_size, 1 << 24)(path),
    "cut": lambda path: os.truncate(path, path.stat().st_size // 2),
    "foreign": _foreign,
    "older": _older,
}


@pytest.mark.parametrize("name", HARM)
def test_what_is_damaged_or_foreign_is_thrown_away_and_made_anew(fleet: Path, cache: Path, name: str) -> None:
    expected = _values(fleet, "")
    assert _values(fleet, cache) == expected
    HARM[name](_index_of(cache))
    status, answer, said = _ask(fleet, cache)
    assert (status, answer) == _ask(fleet, "")[:2]
    assert "Traceback" not in said
    assert _values(fleet, cache) == expected
    (fleet / "quay-2.site").write_text(log("quay-2", 20, "11.6"), encoding="utf-8")
    assert _values(fleet, cache) == _values(fleet, "")


# ---- files that hide a change ----------------------------------------------------------------------
def test_edits_within_the_same_second_are_seen(fleet: Path, cache: Path) -> None:
    path = fleet / "quay-1.site"
    for number in range(30):
        path.write_text(log("quay-1", 10, f"11.{number % 10}"), encoding="utf-8")
        assert any(f"11.{number % 10} Nm" in text for text in _values(fleet, cache))


def test_an_edit_that_sets_the_time_back_is_seen(fleet: Path, cache: Path) -> None:
    path = fleet / "quay-1.site"
    before = path.stat()
    kept(fleet, cache)
    path.write_text(log("quay-1", 10, "11.1"), encoding="utf-8")
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert path.stat().st_size == before.st_size
    assert kept(fleet, cache) == plain(fleet)


def test_a_clock_set_back_hides_nothing(fleet: Path, cache: Path) -> None:
    now = (fleet / "quay-1.site").stat().st_mtime_ns
    year = 365 * 86_400 * 10**9
    kept(fleet, cache, now=now + year)
    path = fleet / "quay-1.site"
    path.write_text(log("quay-1", 10, "11.2"), encoding="utf-8")
    os.utime(path, ns=(now - year, now - year))
    assert kept(fleet, cache, now=now - year) == plain(fleet)
    path.write_text(log("quay-1", 10, "11.3"), encoding="utf-8")  # from the future, by such a clock
    assert kept(fleet, cache, now=now - year) == plain(fleet)


def test_a_file_renamed_or_replaced_is_seen(fleet: Path, cache: Path) -> None:
    one, other = fleet / "quay-1.site", fleet / "quay-2.site"
    kept(fleet, cache)
    os.replace(one, fleet / "new.site")
    assert kept(fleet, cache) == plain(fleet)
    os.replace(fleet / "new.site", other)  # in place of another
    assert kept(fleet, cache) == plain(fleet)
    elsewhere = fleet.parent / "elsewhere.txt"
    elsewhere.write_text(log("quay-3", 30, "11.4"), encoding="utf-8")
    (fleet / "quay-3.site").unlink()
    (fleet / "quay-3.site").symlink_to(elsewhere)
    assert kept(fleet, cache) == plain(fleet)
    elsewhere.write_text(log("quay-3", 30, "11.5"), encoding="utf-8")  # what the link leads to
    assert kept(fleet, cache) == plain(fleet)
    elsewhere.unlink()
    assert kept(fleet, cache) == plain(fleet)

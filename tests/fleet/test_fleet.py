"""A fleet checked in pieces, on one processor or on several, is the fleet checked whole."""

import errno
import io
import multiprocessing
import os
import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import pytest

from sitelog.cli.edges import Progress
from sitelog.files.records.repeats import forget
from sitelog.fleet import many
from sitelog.fleet.checking import Checked, check
from sitelog.fleet.workspace import load
from sitelog.language import syntax
from tests.bench.fleet import write

TODAY = date(2026, 12, 31)
ROOT = Path(__file__).parents[2]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A hundred sites and more, among them what shows only when all are seen."""
    write(tmp_path, 5_000, seed=3, faulty=6)
    first = (tmp_path / "site-00001.site").read_text()
    # One site in two logs that are far apart, with a serial that sits on another site too.
    name = first.split()[1]
    later = f"site {name}\nsheet tallstack-3\nkit van-7\ncrew mo lead\nvisit service\nday 2026-12-30\n"
    (tmp_path / "z-later.site").write_text(
        f"{later}09:00 serial module-C NK2600-00007\n09:10 sign mo serviced\n"
    )
    for at, place in enumerate(("module-A", "module-B")):
        text = f"site twin-{at}\nsheet tallstack-3\nday 2026-12-0{at + 1}\nserial {place} NK2600-00007\n"
        (tmp_path / f"{'az'[at]}-twin.site").write_text(text)
    # A kit that names no interval, with a tool that is used more often than it may be.
    (tmp_path / "own.kit").write_text(
        "kit own\ntool TW9 torque-wrench 4..20 Nm +-4 %\ncalibrated TW9 2026-01-15 cert C-1\n"
    )
    values = " ".join(["12"] * 1_000)
    for at in range(6):
        text = f"site worn-{at}\nsheet x\nkit own\nday 2026-03-01\ntorque x-1..1000 {values} Nm with TW9\n"
        (tmp_path / f"worn-{at * 7}.site").write_text(text)
    # Logs without a site, of which nothing can be judged; a sheet that only one log can reach.
    (tmp_path / "no-name.site").write_text("day 2026-03-01\ndid delivery\n")
    (tmp_path / "below").mkdir()
    (tmp_path / "below" / "x.sheet").write_text(
        "sheet x\nbased on tallstack-3\njoint nut-1 M8 12 Nm\njoint\n"
    )
    (tmp_path / "below" / "far.site").write_text("site far\nsheet x\nday 2026-03-01\ntorque nut-1 13 Nm\n")
    (tmp_path / "unread.site").write_bytes(b"site \xff\n\0")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _whole() -> Checked:
    workspace = load(["."], TODAY)
    return Checked(workspace.findings, workspace.sites, workspace.readable)


@pytest.mark.parametrize("size", [1, 7, 1_000])
@pytest.mark.parametrize("processors", [1, 3])
def test_in_pieces(folder: Path, monkeypatch: pytest.MonkeyPatch, size: int, processors: int) -> None:
    """The same findings in the same order, the same figures, whatever falls into one piece."""
    whole = _whole()
    slugs = {one.slug for one in whole.findings}
    assert {"serial-twice", "tool-out-of-calibration", "no-site"} <= slugs
    monkeypatch.setattr(many, "CHUNK", size)
    steps: list[tuple[int, int]] = []
    assert check(["."], TODAY, processors, lambda done, all_: steps.append((done, all_))) == whole
    assert steps[-1][0] == steps[-1][1] == sum(path.suffix == ".site" for path in folder.rglob("*"))
    assert steps == sorted(steps)


@pytest.mark.parametrize("way", ["fork", "spawn"])
def test_what_processes_learn_is_kept(folder: Path, monkeypatch: pytest.MonkeyPatch, way: str) -> None:
    """After a check on several processors as much is known of lines as after one on one, and is kept."""
    if way == "spawn":
        monkeypatch.setattr(multiprocessing, "get_all_start_methods", lambda: ["spawn"])
        monkeypatch.setenv("PYTHONPATH", str(ROOT))
    monkeypatch.setattr(many, "FIRST", 1)
    kept_: list[dict[str, syntax.kept.Learnt | None]] = []
    try:
        for processors in (1, 2):
            cache = folder / f".kept-{processors}"
            forget()
            syntax.use_cache(str(cache))
            check(["."], TODAY, processors)
            syntax.save_plans()
            kept_.append(
                {
                    role: syntax.kept.read(str(cache / f"{role}.plans"), role)
                    for role in ("log", "sheet", "kit")
                }
            )
    finally:
        syntax.use_cache("")
    for role, alone in kept_[0].items():
        together = kept_[1][role]
        assert alone is not None
        assert together is not None
        assert len(alone.chunks) < syntax.kept.MOST_CHUNKS  # nothing was left out
        assert together == alone


def test_where_processes_start_empty(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A process that is started anew reads the sheets and kits for itself."""
    monkeypatch.setattr(multiprocessing, "get_all_start_methods", lambda: ["spawn"])
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    assert check(["."], TODAY, 2) == _whole()


def test_a_few_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder of few logs, or a file whose name does not say what it is, needs no second process."""
    write(tmp_path, 300)
    monkeypatch.chdir(tmp_path)
    assert check(["."], TODAY, 2) == _whole()
    log = next(tmp_path.glob("*.site")).rename(tmp_path / "log")
    monkeypatch.setattr(many, "FEW", 0)
    workspace = load(["log"], TODAY)
    assert check([log.name], TODAY, 2) == (workspace.findings, workspace.sites, workspace.readable)


def _other_end(pipe: Path) -> int:
    """A pipe opened to write, as soon as somebody has opened it to read."""
    for _ in range(600):
        try:
            return os.open(pipe, os.O_WRONLY | os.O_NONBLOCK)
        except OSError as error:
            if error.errno != errno.ENXIO:
                raise
            time.sleep(0.1)  # nobody reads yet
    raise AssertionError("nobody reads the pipe")


def _heed_interrupts() -> None:
    """As in a terminal. A shell's background job ignores Control-C, and what it starts inherits that."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


def _command(folder: Path, *paths: Path, **more: object) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "sitelog", "check", "--today", str(TODAY), str(folder), *map(str, paths)]
    environment = os.environ | {"PYTHONPATH": str(ROOT), "SITELOG_CACHE": str(folder / "cache")}
    more |= {"env": environment, "text": True, "stderr": subprocess.PIPE, "preexec_fn": _heed_interrupts}
    return subprocess.Popen(command, **more)  # type: ignore[call-overload, no-any-return]


def test_interrupted(tmp_path: Path) -> None:
    """Control-C in a terminal reaches every process; one line is said and nothing goes on.

    Not even one that waits at a pipe to which nobody writes; by which it is also known to be at work.
    """
    write(tmp_path, 6_000)
    pipe = tmp_path / "site-99999.site"
    os.mkfifo(pipe)
    with _command(tmp_path, pipe, stdout=subprocess.PIPE, start_new_session=True) as process:
        end = _other_end(pipe)
        os.killpg(process.pid, signal.SIGINT)
        _, said = process.communicate(timeout=60)
        os.close(end)
    assert (process.returncode, said) == (130, "sitelog: stopped\n")
    with pytest.raises(ProcessLookupError):
        os.killpg(process.pid, 0)


def test_interrupted_while_processes_start(tmp_path: Path) -> None:
    """A signal that meets a process before it is ready is not the end of it, and says nothing."""
    write(tmp_path, 5_000)
    code = (
        "import datetime, os, signal, sys; from sitelog.fleet.checking import check;"
        "os.register_at_fork(after_in_child=lambda: os.kill(os.getpid(), signal.SIGINT));"
        "print(check([sys.argv[1]], datetime.date(2026, 12, 31), 2).readable)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], cwd=ROOT, capture_output=True, text=True, timeout=60
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert int(done.stdout) == len(list(tmp_path.iterdir()))


def test_broken_pipe(tmp_path: Path) -> None:
    """Where nobody reads what is said, one line says so, and there is no traceback."""
    write(tmp_path, 6_000, faulty=10)
    with _command(tmp_path, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        assert process.stderr.read() == "sitelog: the output was closed before its end\n"
        assert process.wait() == 141


@pytest.mark.parametrize(
    ("terminal", "seconds", "said"), [(True, 2, "3 of 9 logs"), (True, 0.5, ""), (False, 2, "")]
)
def test_progress(monkeypatch: pytest.MonkeyPatch, terminal: bool, seconds: float, said: str) -> None:
    """How far it has come is said on a terminal, after the first second, and wiped away at the end."""
    stream = io.StringIO()
    monkeypatch.setattr(stream, "isatty", lambda: terminal, raising=False)
    monkeypatch.setattr(sys, "stderr", stream)
    now = iter((100.0, 100.0 + seconds))
    monkeypatch.setattr("sitelog.cli.edges.time.monotonic", lambda: next(now))
    with Progress("logs checked") as progress:
        progress(3, 9)
    assert said in stream.getvalue()
    assert stream.getvalue().endswith("\r\033[K") if said else not stream.getvalue()

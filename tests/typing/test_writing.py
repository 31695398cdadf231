"""Writing to files: all or nothing, one after the other; what an editor put there stays. Common practice."""

import errno
import os
import stat
import subprocess
from concurrent.futures import ThreadPoolExecutor

import pytest

from sitelog.cli import writing
from tests.typing.running import a_site, command, environment, run

BOM = b"\xef\xbb\xbf"


def text_of(path):
    return path.read_bytes()


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (b"", b"c\n"),
        (b"a\nb\n", b"a\nb\nc\n"),
        (b"a\nb", b"a\nb\nc\n"),  # the last line is given its end first
        (b"a\r\nb\r\n", b"a\r\nb\r\nc\r\n"),
        (b"a\r\nb", b"a\r\nb\r\nc\r\n"),
        (BOM + b"a\r\n", BOM + b"a\r\nc\r\n"),
        (BOM, BOM + b"c\n"),
        (b"a\xff\n", b"a\xff\nc\n"),  # a byte that is no UTF-8 is kept
        (b"a\n\n", b"a\n\nc\n"),
    ],
)
def test_append_keeps_what_an_editor_put_there(tmp_path, before, after):
    path = tmp_path / "a.site"
    path.write_bytes(before)
    writing.append(str(path), ["c"])
    assert text_of(path) == after
    assert os.listdir(tmp_path) == ["a.site"]


@pytest.mark.parametrize(
    ("before", "after"),
    [(b"a\n", b"x\ny"), (b"a\r\nb", b"x\r\ny"), (BOM + b"a\r\n", BOM + b"x\r\ny"), (b"", b"x\ny")],
)
def test_replace_keeps_mark_and_line_ends(tmp_path, before, after):
    path = tmp_path / "a.site"
    path.write_bytes(before)
    writing.replace(str(path), "x\ny")
    assert text_of(path) == after


def test_permissions_and_links_stay(tmp_path):
    path = tmp_path / "a.site"
    path.write_bytes(b"a\n")
    path.chmod(0o640)
    link = tmp_path / "link.site"
    link.symlink_to(path)
    writing.append(str(link), ["b"])
    assert link.is_symlink()
    assert text_of(path) == b"a\nb\n"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_nothing_is_written_where_nothing_changes(tmp_path):
    path = tmp_path / "a.site"
    path.write_bytes(b"a\n")
    before = path.stat()
    assert not writing.change(str(path), lambda text: text)
    assert (path.stat().st_ino, path.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EACCES, errno.EROFS])
def test_a_write_that_fails_loses_nothing_and_leaves_nothing(tmp_path, monkeypatch, step, error):
    path = tmp_path / "a.site"
    path.write_bytes(b"a\n")

    def fails(*arguments):
        raise OSError(error, os.strerror(error), "a.new")

    monkeypatch.setattr(os, step, fails)
    with pytest.raises(OSError, match="not written") as raised:
        writing.append(str(path), ["b"])
    assert raised.value.errno == error
    assert raised.value.filename == str(path)
    assert text_of(path) == b"a\n"
    assert os.listdir(tmp_path) == ["a.site"]


def test_an_interrupt_leaves_no_half_file(tmp_path, monkeypatch):
    path = tmp_path / "a.site"
    path.write_bytes(b"a\n")

    def stopped(handle):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        writing.append(str(path), ["b"])
    assert text_of(path) == b"a\n"
    assert os.listdir(tmp_path) == ["a.site"]


def test_an_edit_that_raises_changes_nothing_and_lets_the_lock_go(tmp_path):
    path = tmp_path / "a.site"
    path.write_bytes(b"a\n")

    def wrong(text):
        raise ValueError(text)

    with pytest.raises(ValueError, match="a"):
        writing.change(str(path), wrong)
    writing.append(str(path), ["b"])
    assert text_of(path) == b"a\nb\n"


def test_create_never_overwrites_however_many_try(tmp_path):
    path = tmp_path / "a.site"

    def one(number):
        try:
            writing.create(str(path), f"{number}\n" * 1000)
        except FileExistsError:
            return None
        return number

    with ThreadPoolExecutor(8) as pool:
        done = [number for number in pool.map(one, range(8)) if number is not None]
    assert len(done) == 1
    assert path.read_text() == f"{done[0]}\n" * 1000
    assert os.listdir(tmp_path) == ["a.site"]


def test_a_full_disk_is_one_line_and_loses_nothing(tmp_path):
    """A process that may write no more than 2000 bytes stands for a full disk (`ulimit -f`, POSIX.1-2017)."""
    import resource

    path = a_site(tmp_path)
    path.write_bytes(path.read_bytes() + b"08:01  note    " + b"x" * 3000 + b"\n")
    before = text_of(path)
    run(tmp_path, "check", "hill-9.site")  # what is kept for the next run would be too long to write
    run(tmp_path, "enter", "x", "hill-9.site")
    done = subprocess.run(
        command("enter", "did delivery", "hill-9.site", "--today", "2026-03-02", "--time", "08:10"),
        cwd=tmp_path,
        env=environment(),
        capture_output=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000)),
    )
    assert done.returncode == 2
    assert done.stdout == b""
    assert done.stderr.startswith(b"sitelog: hill-9.site: not written: ")
    assert done.stderr.count(b"\n") == 1
    assert text_of(path) == before
    assert sorted(os.listdir(tmp_path)) == ["hill-9.site", "twin-5.sheet", "van-7.kit"]


def test_twenty_at_once_lose_nothing(tmp_path):
    path = a_site(tmp_path)
    before = path.read_text(encoding="utf-8")
    running = [
        subprocess.Popen(
            command("enter", f"note line {number} of twenty", "--today", "2026-03-03", "--time", "09:00"),
            cwd=tmp_path,
            env=environment(),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        for number in range(20)
    ]
    ends = [(process.communicate()[1], process.returncode) for process in running]
    assert [end for end in ends if end != (b"", 0)] == []
    text = path.read_text(encoding="utf-8")
    assert text.startswith(before)
    added = text.removeprefix(before).split("\n")
    assert added[:2] == ["", "day 2026-03-03"]  # opened once
    assert sorted(added[2:-1]) == sorted(f"09:00  note    line {number} of twenty" for number in range(20))
    assert sorted(os.listdir(tmp_path)) == ["hill-9.site", "twin-5.sheet", "van-7.kit"]

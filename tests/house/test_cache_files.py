"""A cache file is whole at any time, whoever reads it while it is written anew."""

import builtins
import os
from pathlib import Path
from typing import Any

import pytest

from sitelog.base import cache_files


def test_a_reader_sees_the_old_file_until_the_new_one_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Read after every byte that is written: what stands there is one of the two, whole."""
    path = str(tmp_path / "a.cache")
    assert cache_files.write(path, "version", "old")
    seen: list[object] = []
    plainly = builtins.open

    class Slow:
        """A file that writes byte by byte."""

        def __init__(self, stream: Any) -> None:
            self.stream = stream

        def __enter__(self) -> "Slow":
            return self

        def __exit__(self, *_: object) -> None:
            self.stream.close()

        def write(self, data: bytes) -> None:
            for at in range(len(data)):
                self.stream.write(data[at : at + 1])
                self.stream.flush()
                seen.append(cache_files.read(path, "version"))

    def opening(name: str, mode: str = "r", **more: Any) -> Any:
        stream = plainly(name, mode, **more)
        return Slow(stream) if "w" in mode else stream

    monkeypatch.setattr(builtins, "open", opening)
    assert cache_files.write(path, "version", "new")
    monkeypatch.undo()
    assert len(seen) > 8
    assert set(seen) == {("old",)}
    assert cache_files.read(path, "version") == ("new",)
    assert os.listdir(tmp_path) == ["a.cache"]


def test_two_writers_at_once_leave_one_whole_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another process writes the same file just before this one moves its own into place."""
    path = str(tmp_path / "a.cache")
    move = os.replace

    def after_another(source: str, target: str) -> None:
        monkeypatch.setattr(os, "replace", move)
        monkeypatch.setattr(os, "getpid", lambda: 1)
        assert cache_files.write(path, "version", "another")
        assert cache_files.read(path, "version") == ("another",)
        move(source, target)

    monkeypatch.setattr(os, "replace", after_another)
    assert cache_files.write(path, "version", "this")
    assert cache_files.read(path, "version") == ("this",)
    assert os.listdir(tmp_path) == ["a.cache"]

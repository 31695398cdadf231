"""Answers with an index are those without one, whatever happened to the files in between.

What is right is what a plain reading of the same files gives: the two ways share the judging only.
"""

from __future__ import annotations

import multiprocessing
import os
import shutil
import signal
import sqlite3
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitelog.fleet import many
from tests.index.fleets import KIT, MORE, SHEET, TODAY, kept, log, plain, write

NAMES = st.sampled_from(["quay-1", "quay-2", "quay-3", "quay-4", "mill-1"])


def test_an_index_made_anew_and_one_read_again_hold_the_same_as_the_files(tmp_path: Path) -> None:
    fleet = write(tmp_path / "fleet")
    expected = plain(fleet)
    assert len(expected["joints"]) == 9  # type: ignore[arg-type]  # three sites of three joints
    assert kept(fleet, tmp_path / "cache") == expected
    assert kept(fleet, tmp_path / "cache") == expected


def test_the_tables_of_an_index_are_sought_by_what_questions_name(tmp_path: Path) -> None:
    """The file has SQLite indexes on what questions ask for most, on the site and on the states."""
    kept(write(tmp_path / "fleet"), tmp_path / "cache")
    (path,) = (tmp_path / "cache").glob("*.index")
    with closing(sqlite3.connect(path)) as connection:
        told = "SELECT name FROM sqlite_master WHERE type = 'index' AND tbl_name = 'joints' ORDER BY name"
        assert [name for (name,) in connection.execute(told)] == [
            "joints_asked", "joints_site", "joints_states",
        ]  # fmt: skip


def _add_line(folder: Path, data: st.DataObject) -> None:
    path = _some(folder, data, ".site")
    if path is not None:
        with path.open("a", encoding="utf-8") as stream:
            stream.write(data.draw(st.sampled_from(MORE)) + "\n")


def _change_line(folder: Path, data: st.DataObject) -> None:
    """In a log or a sheet, another digit: the file keeps its size."""
    path = _some(folder, data, data.draw(st.sampled_from([".site", ".sheet", ".kit"])))
    if path is not None:
        text = path.read_text(encoding="utf-8")
        places = [at for at, sign in enumerate(text) if sign.isascii() and sign.isdigit()]
        if places:
            at = data.draw(st.sampled_from(places))
            path.write_text(
                text[:at] + data.draw(st.sampled_from("0123456789")) + text[at + 1 :], encoding="utf-8"
            )


def _delete_line(folder: Path, data: st.DataObject) -> None:
    path = _some(folder, data, data.draw(st.sampled_from([".site", ".sheet", ".kit"])))
    if path is not None:
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        if lines:
            del lines[data.draw(st.integers(0, len(lines) - 1))]
            path.write_text("".join(lines), encoding="utf-8")


def _new_log(folder: Path, data: st.DataObject) -> None:
    file, name, serial = data.draw(NAMES), data.draw(NAMES), data.draw(st.sampled_from([1, 2, 10, 20]))
    (folder / f"{file}.site").write_text(log(name, serial), encoding="utf-8")


def _rename(folder: Path, data: st.DataObject) -> None:
    path = _some(folder, data, data.draw(st.sampled_from([".site", ".sheet", ".kit"])))
    if path is not None:
        os.replace(path, path.with_stem(data.draw(st.sampled_from(["a", "m", "quay-1", "z"]))))


def _delete(folder: Path, data: st.DataObject) -> None:
    path = _some(folder, data, data.draw(st.sampled_from([".site", ".sheet", ".kit"])))
    if path is not None:
        path.unlink()


def _sheet(folder: Path, data: st.DataObject) -> None:
    """A sheet or a kit: among the paths, or above them, where only those who look around see it."""
    place = data.draw(st.sampled_from([folder, folder.parent]))
    name = data.draw(st.sampled_from(["tallstack-3.sheet", "other.sheet", "van-7.kit", "van-8.kit"]))
    text = SHEET if name.endswith(".sheet") else KIT
    text = text.replace("12 Nm", data.draw(st.sampled_from(["12 Nm", "14 Nm"])))
    if name == "van-8.kit":
        text = text.replace("van-7", "van-8")
    if name == "other.sheet":
        text = "sheet tallstack-3 revision C\nbased on base-1\njoint bracket-9 9 Nm +-5 %\n"
        (folder.parent / "base.sheet").write_text("sheet base-1\nstep delivery\n", encoding="utf-8")
    (place / name).write_text(text, encoding="utf-8")


def _photo(folder: Path, data: st.DataObject) -> None:
    path = folder / "a.jpg"
    if path.exists():
        path.unlink()
    else:
        path.write_bytes(b"light")


def _repository(folder: Path, data: st.DataObject) -> None:
    path = folder / ".git"
    if path.exists():
        path.rmdir()
    else:
        path.mkdir()


def _some(folder: Path, data: st.DataObject, ending: str) -> Path | None:
    found = sorted(folder.glob(f"*{ending}"))
    return data.draw(st.sampled_from(found)) if found else None


EDITS = (_add_line, _change_line, _delete_line, _new_log, _rename, _delete, _sheet, _photo, _repository)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_after_any_edits_an_index_holds_what_the_files_hold(data: st.DataObject) -> None:
    with TemporaryDirectory() as scratch:
        fleet, cache = write(Path(scratch) / "in" / "fleet", 2), Path(scratch) / "cache"
        today = TODAY
        for _ in range(data.draw(st.integers(1, 4))):
            for edit in data.draw(st.lists(st.sampled_from(EDITS), min_size=1, max_size=3)):
                edit(fleet, data)
            today += timedelta(days=data.draw(st.sampled_from([0, 0, 1, 6, 400, -370])))
            assert kept(fleet, cache, today) == plain(fleet, today)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.dates(date(2025, 1, 1), date(2028, 1, 1)), min_size=2, max_size=5))
def test_on_any_day_an_index_holds_what_that_day_gives(days: list[date]) -> None:
    with TemporaryDirectory() as scratch:
        fleet, cache = write(Path(scratch) / "fleet", 2), Path(scratch) / "cache"
        with (fleet / "quay-1.site").open("a", encoding="utf-8") as stream:
            stream.write("\n".join(MORE[:3]) + "\n")
        for day in days:
            assert kept(fleet, cache, day) == plain(fleet, day)


@pytest.mark.parametrize("way", ["fork", "spawn"])
def test_on_several_processors_an_index_holds_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, way: str
) -> None:
    monkeypatch.setattr(many, "FEW", 3)
    monkeypatch.setattr(many, "FIRST", 2)
    monkeypatch.setattr(many, "CHUNK", 2)
    monkeypatch.setattr(multiprocessing, "get_all_start_methods", lambda: [way])
    fleet, cache = write(tmp_path / "fleet", 9), tmp_path / "cache"
    (fleet / "quay-1b.site").write_text(log("quay-1", 40), encoding="utf-8")  # of another log's site
    (fleet / "nameless.site").write_text("crew mo\n", encoding="utf-8")
    (fleet / "quay-8.site").write_text(
        log("quay-8", 10) + MORE[1] + "\n", encoding="utf-8"
    )  # of quay-1's parts
    assert kept(fleet, cache, processors=2) == plain(fleet)
    (fleet / "tallstack-3.sheet").write_text(SHEET.replace("12 Nm", "14 Nm"), encoding="utf-8")
    assert kept(fleet, cache, processors=2) == plain(fleet)


def test_where_a_process_is_ended_from_outside_the_index_is_made_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(many, "FEW", 3)
    monkeypatch.setattr(many, "FIRST", 2)
    monkeypatch.setattr(many, "CHUNK", 2)
    here, apart = os.getpid(), many.SitePipeline.apart

    def ended(self: many.SitePipeline, groups: list[many.Group]) -> many.Piece:
        if os.getpid() != here and any(path.endswith("quay-5.site") for group in groups for path in group):
            os.kill(os.getpid(), signal.SIGKILL)
        return apart(self, groups)

    monkeypatch.setattr(many.SitePipeline, "apart", ended)
    fleet = write(tmp_path / "fleet", 9)
    assert kept(fleet, tmp_path / "cache", processors=2) == plain(fleet)


def test_a_part_that_moved_within_its_site_is_followed(tmp_path: Path) -> None:
    """Its site shares no serial with another, so it is seen alone; its two logs share one."""
    fleet, cache = write(tmp_path / "fleet", 2), tmp_path / "cache"
    (fleet / "quay-1b.site").write_text(log("quay-1", 11), encoding="utf-8")
    assert kept(fleet, cache) == plain(fleet)


def test_sites_that_share_a_serial_are_seen_together(tmp_path: Path) -> None:
    fleet, cache = write(tmp_path / "fleet"), tmp_path / "cache"
    before = kept(fleet, cache)
    (fleet / "quay-2.site").write_text(log("quay-2", 10), encoding="utf-8")  # the serials of quay-1
    shared = kept(fleet, cache)
    assert shared == plain(fleet)
    assert shared["errors"] > before["errors"]  # type: ignore[operator]
    (fleet / "quay-1.site").unlink()
    assert kept(fleet, cache) == plain(fleet)


def test_a_site_put_before_all_others_comes_before_them_in_every_answer(tmp_path: Path) -> None:
    fleet, cache = write(tmp_path / "fleet"), tmp_path / "cache"
    kept(fleet, cache)
    for number in range(60):  # more often than a place between two can be halved
        shutil.copy(fleet / "quay-3.site", fleet / f"quay-1{number:02}.site")
        (fleet / f"quay-1{number:02}.site").write_text(
            log(f"new-{number}", 100 + 2 * number), encoding="utf-8"
        )
    assert kept(fleet, cache) == plain(fleet)

"""How much is done again after a change: the sites that it concerns, and no other."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import pytest

from sitelog.fleet import many
from sitelog.fleet.index.disk import SLACK
from tests.index.fleets import KIT, MORE, SHEET, TODAY, kept, log, plain, write

CHECKOUT = Path(__file__).parents[2]


@pytest.fixture
def judged(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the sites judged for an index, one after another."""
    names: list[str] = []
    judge_logs = many.judge_logs

    def noting(logs, *args):  # type: ignore[no-untyped-def]
        names.append(logs[0].site)
        return judge_logs(logs, *args)

    monkeypatch.setattr(many, "judge_logs", noting)
    return names


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """Three sites; the third by another sheet, without a kit; and a fourth whose sheet nobody has."""
    fleet = write(tmp_path / "fleet")
    (fleet / "other.sheet").write_text(SHEET.replace("tallstack-3", "wallstack-1"), encoding="utf-8")
    text = log("quay-3", 30).replace("tallstack-3", "wallstack-1").replace("kit    van-7\n", "")
    (fleet / "quay-3.site").write_text(text, encoding="utf-8")
    text = log("quay-4", 40).replace("tallstack-3", "lowstack-9")
    (fleet / "quay-4.site").write_text(text, encoding="utf-8")
    return fleet


def _after(fleet: Path, cache: Path, judged: list[str], days: int = 0) -> list[str]:
    """The sites judged to bring the index up to date; what it holds is right."""
    judged.clear()
    found = kept(fleet, cache, TODAY + timedelta(days=days), now=time.time_ns() + 10**10)
    again = sorted(judged)
    assert found == plain(fleet, TODAY + timedelta(days=days))
    return again


def test_only_what_a_change_concerns_is_judged_again(fleet: Path, tmp_path: Path, judged: list[str]) -> None:
    cache = tmp_path / "cache"
    assert _after(fleet, cache, judged) == ["quay-1", "quay-2", "quay-3", "quay-4"]
    assert _after(fleet, cache, judged) == []

    with (fleet / "quay-2.site").open("a", encoding="utf-8") as stream:
        stream.write("11:00  note  a line more\n")
    assert _after(fleet, cache, judged) == ["quay-2"]

    # A sheet: the sites that use it. (The one whose sheet is missing is told which sheet is nearest.)
    (fleet / "tallstack-3.sheet").write_text(SHEET.replace("12 Nm", "14 Nm"), encoding="utf-8")
    assert _after(fleet, cache, judged) == ["quay-1", "quay-2", "quay-4"]

    # A kit: those that name it, and the one that names none.
    (fleet / "van-7.kit").write_text(KIT.replace("U 0.8 %", "U 0.9 %"), encoding="utf-8")
    assert _after(fleet, cache, judged) == ["quay-1", "quay-2", "quay-3", "quay-4"]

    (fleet / "new.sheet").write_text("sheet lowstack-9\njoint bracket-1 9 Nm +-5 %\n", encoding="utf-8")
    assert _after(fleet, cache, judged) == ["quay-4"]

    (fleet / "new.kit").write_text(KIT.replace("van-7", "van-9"), encoding="utf-8")
    assert _after(fleet, cache, judged) == ["quay-3"]


def test_a_file_touched_and_not_changed_has_nothing_judged(
    fleet: Path, tmp_path: Path, judged: list[str]
) -> None:
    cache = tmp_path / "cache"
    _after(fleet, cache, judged)
    for path in fleet.iterdir():
        path.touch()
    assert _after(fleet, cache, judged) == []


def test_a_new_day_concerns_open_defects_and_what_is_due(
    fleet: Path, tmp_path: Path, judged: list[str]
) -> None:
    cache = tmp_path / "cache"
    with (fleet / "quay-1.site").open("a", encoding="utf-8") as stream:
        stream.write(MORE[1] + "\n")  # a defect, whose age counts days
    _after(fleet, cache, judged)
    assert _after(fleet, cache, judged, days=7) == ["quay-1"]
    # A year after the second of March the joints are due again; no sheet of quay-4 asks anything.
    assert _after(fleet, cache, judged, days=357) == ["quay-1", "quay-2", "quay-3"]


def test_a_photo_that_came_concerns_its_own_site(fleet: Path, tmp_path: Path, judged: list[str]) -> None:
    cache = tmp_path / "cache"
    with (fleet / "quay-1.site").open("a", encoding="utf-8") as stream:
        stream.write(MORE[3] + "\n")
    _after(fleet, cache, judged)
    (fleet / "a.jpg").write_bytes(b"light")
    assert _after(fleet, cache, judged) == ["quay-1"]


TOLD = """
import sys
from sitelog.cli.main import main
main(sys.argv[1:])
names = ("lark", "sitelog.judging.judge", "sitelog.language.syntax", "typing")
print([name for name in names if name in sys.modules])
"""


def test_asked_again_nothing_that_reads_or_judges_is_loaded(fleet: Path, tmp_path: Path) -> None:
    environment = os.environ | {"SITELOG_CACHE": str(tmp_path / "cache"), "PYTHONPATH": str(CHECKOUT)}
    # As CSV, because the library that sets tables loads `typing`.
    options = ["--today", str(TODAY), "--format", "csv"]
    command = [sys.executable, "-c", TOLD, "ask", "joints at quay-1", str(fleet), *options]
    told = []
    for _ in range(3):
        told.append(
            subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout
        )
        time.sleep(SLACK / 1e9)  # until no file is as new as the index
    *answers, loaded = (text.splitlines() for text in told)
    assert "sitelog.judging.judge" in answers[0][-1]
    assert loaded[-1] == "[]"
    assert loaded[:-1] == answers[0][:-1]


def test_between_two_sites_there_is_always_room(tmp_path: Path, judged: list[str]) -> None:
    fleet, cache = write(tmp_path / "fleet", 2), tmp_path / "cache"
    for number in range(20):  # each before all that came before it, more often than the room can be halved
        (fleet / f"quay-1{chr(ord('z') - number)}.site").write_text(log(f"new-{number}", 100 + 2 * number))
        kept(fleet, cache)
    assert _after(fleet, cache, judged) == []


def test_files_that_came_of_age_are_read_once_more_and_then_no_more(fleet: Path, tmp_path: Path) -> None:
    from tests.index.fleets import opened

    cache = tmp_path / "cache"
    later = time.time_ns() + 10**10
    for now, unsure in ((0, True), (later, False), (later, False)):
        index = opened(fleet, cache, now=now)
        assert index is not None
        assert index.use((), lambda store: bool(store.files(unsure=True))) == unsure
        index.close()


def test_to_write_down_that_files_came_of_age_nothing_is_refreshed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from sitelog.fleet.index import opening, refreshing
    from tests.index.fleets import opened

    fleet, cache = write(tmp_path / "fleet"), tmp_path / "cache"
    version = opening._version()
    monkeypatch.setattr(opening, "_version", lambda: version)
    before = kept(fleet, cache)
    monkeypatch.setattr(refreshing, "Refreshing", None)
    index = opened(fleet, cache, now=time.time_ns() + 10**10)
    assert index is not None
    assert not index.use((), lambda store: store.files(unsure=True))
    index.close()
    assert kept(fleet, cache) == before

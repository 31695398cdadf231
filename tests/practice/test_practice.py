"""Each practice of the trade, kept and broken. What is asked here is common practice, no source."""

import re
from contextlib import chdir
from datetime import date
from pathlib import Path

import pytest

from sitelog.fleet.workspace import load
from sitelog.judging.results import Result

HERE = Path(__file__).parent
LOGS = sorted(HERE.glob("*.site"))


def results(log: Path) -> tuple[Result, ...]:
    """The results of one practice log, with the sheet and kit beside it."""
    with chdir(HERE):
        (site,) = load([log.name], date(2026, 12, 1)).judged
    return site.results


@pytest.mark.parametrize("log", LOGS, ids=lambda log: log.stem)
def test_each_broken_practice_is_found_and_nothing_else(log: Path) -> None:
    """The first line says which one thing has which verdict; everything else passes."""
    expected = re.match(r"# expect: (\S+)(?: (\S+) (\S+))?\n", log.read_text(encoding="utf-8"))
    assert expected is not None
    verdict, kind, name = expected.groups()
    failing = {
        (one.kind, one.what or one.place): one.verdict for one in results(log) if one.verdict != "pass"
    }
    assert failing == ({} if verdict == "pass" else {(kind, name): verdict})


def test_every_line_of_the_sheet_is_broken_by_a_log_or_needed_by_one() -> None:
    """A practice that no log breaks is one that nobody has shown to be found."""
    broken = {path.stem.removeprefix("breaks-") for path in LOGS if path.stem != "keeps"}
    assert broken == {
        "anchor-depth",
        "anchor-diameter",
        "breaker-off",
        "cables-apart",
        "final-tightening",
        "lamp-wait",
        "m5-torque",
        "m6-torque",
        "pre-tightening",
    }


@pytest.mark.parametrize(
    ("line", "left_out"),
    [
        ("cables-apart", ("look", "cables-apart")),
        ("fault-lamp", ("step", "fault-lamp")),
        ("plate-1..2    5.0", ("joint", "plate-1")),
        ("hole    anchor", ("hole", "anchor-1")),
        ("cover-open", ("step", "cover-open")),
    ],
)
def test_what_is_left_out_is_missing(tmp_path: Path, line: str, left_out: tuple[str, str]) -> None:
    """The log that keeps everything, without one line, lacks just that."""
    for name in ("practice.sheet", "practice.kit"):
        (tmp_path / name).write_bytes((HERE / name).read_bytes())
    text = (HERE / "keeps.site").read_text(encoding="utf-8")
    kept = [one for one in text.splitlines() if line not in one]
    assert len(kept) == len(text.splitlines()) - 1
    (tmp_path / "keeps.site").write_text("\n".join(kept) + "\n", encoding="utf-8")
    with chdir(tmp_path):
        (site,) = load(["."], date(2026, 12, 1)).judged
    verdicts = {(one.kind, one.what or one.place): one.verdict for one in site.results}
    assert verdicts[left_out] in ("missing", "pre-only")
    assert site.summary.ready is False

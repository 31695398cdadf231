"""How far a site is: one word, and a question can be asked about it. Common practice, no source."""

from datetime import date
from pathlib import Path

import pytest

import sitelog
from sitelog.fleet.workspace import load
from sitelog.judging.completeness import STATES, state_of

EXAMPLES = Path(__file__).parents[2] / "example_logs"
TODAY = date(2026, 11, 25)
SHEET = (
    'sheet s-1\nsource "guide"\njoint foot-1..2 8 Nm +-10 %\n'
    "reading insulation a/b >= 1 MΩ at 500 V\nlook wall\n"
)
KIT = (
    "kit k-1\ntool W torque-wrench 1..20 Nm +-4 %\ntool M insulation 0..999 MΩ +-3 %\n"
    "calibrated W 2026-01-01 due 2027-01-01 cert A-1\ncalibrated M 2026-01-01 due 2027-01-01 cert A-2\n"
)
DONE = (
    "09:00 use W, M\n09:10 torque foot-1..2 8.0 8.1 Nm\n09:20 reading insulation a/b 200 MΩ at 500 V\n"
    "09:30 look wall ok\n"
)
SIGNED = "10:00 sign mo installed\n"


def state(tmp_path: Path, lines: str, sheet: str = SHEET) -> str:
    (tmp_path / "s-1.sheet").write_text(sheet, encoding="utf-8")
    (tmp_path / "k-1.kit").write_text(KIT, encoding="utf-8")
    head = 'site a-1 "A"\nsheet s-1\nkit k-1\ncrew mo lead\nday 2026-03-02\n'
    (tmp_path / "a-1.site").write_text(head + lines, encoding="utf-8")
    (site,) = load([str(tmp_path)], date(2026, 3, 2)).judged
    return state_of(site)


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        (DONE + SIGNED, "complete"),
        (DONE, "with-reservations"),  # nobody signed
        (DONE + "09:40 defect D1 minor scratch\n" + "09:41 sign mo day-end\n", "with-reservations"),
        (DONE + "09:40 todo bring a label\n" + SIGNED, "with-reservations"),
        (DONE.replace("200 MΩ at 500 V", "not tested -- no mains yet"), "with-reservations"),
        (DONE + "09:40 defect D1 major cable too short\n", "not-complete"),
        (DONE + "09:40 loosed foot-2\n", "not-complete"),
        (DONE + "09:40 away locked\n", "not-complete"),
        (DONE.replace("8.0 8.1 Nm", "pre 5 Nm"), "not-complete"),
        (DONE.replace("8.0 8.1 Nm", "8.0 6.0 Nm"), "not-complete"),
        (DONE.replace("09:30 look wall ok\n", "") + SIGNED, "not-complete"),
        ("", "not-complete"),
    ],
)
def test_the_state_follows_from_what_is_open(tmp_path, lines, wanted):
    assert state(tmp_path, lines) == wanted


def test_a_site_without_a_sheet_is_never_complete(tmp_path):
    (tmp_path / "b.site").write_text("site b-1\ncrew mo lead\nday 2026-03-02\n09:00 sign mo installed\n")
    (site,) = load([str(tmp_path)], date(2026, 3, 2)).judged
    assert state_of(site) == "not-complete"


def test_questions_give_the_same_state():
    answer = sitelog.load([str(EXAMPLES)], TODAY).ask("sites show site, state")
    asked = {row["site"]: row["state"] for row in answer}
    assert asked == {site.name: state_of(site) for site in load([str(EXAMPLES)], TODAY).judged}
    assert set(asked.values()) == {"complete", "not-complete", "taken-down"} <= set(STATES)
    assert asked["pump-house-2"] == "taken-down"  # taken down, and its removal signed

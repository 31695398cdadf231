"""Which site needs a visit first: each reason alone, then one against another; common practice, no source."""

from pathlib import Path

import pytest

from tests.report.overview.fleets import DONE, SHEET, SIGNED, facts, log, ranked

OPEN = {
    "danger": "08:50 defect D1 danger smell of burning\n",
    "away": "08:50 away caps on -- called out\n",
    "under": "08:50 torque foot-2 8.5 Nm\n",
    "failing": "08:50 look wall not ok\n08:51 reading continuity frame/earth 2 ohm\n",
    "untraceable": "08:50 torque foot-1 10 Nm with W2\n",
    "again": "08:50 loosed foot-3\n",
    "major": "08:50 defect D1 major lid cracked\n",
    "minor": "08:50 defect D1 minor lid scratched\n",
    "unproven": "08:50 reading continuity frame/earth not tested -- supply off\n",
}


@pytest.mark.parametrize(
    ("lines", "reason"),
    [
        (OPEN["danger"], "✗ danger D1, open 5 days: smell of burning"),
        (OPEN["away"], "△ left half way since 2026-11-20: caps on"),
        (OPEN["under"], "✗ 1 joint under (foot-2 8.5 Nm, lowest allowed 9 Nm)"),
        (
            "08:50 torque foot-2..3 8.5 8.6 Nm\n",
            "✗ 2 joints under (such as foot-2 8.5 Nm, lowest allowed 9 Nm)",
        ),
        ("08:50 look wall not ok\n", "✗ 1 look not-ok (wall)"),
        (
            "08:50 reading continuity frame/earth 2 ohm\n",
            "✗ 1 reading over (continuity frame/earth 2 ohm, highest allowed 1 ohm)",
        ),
        (OPEN["untraceable"], "△ 1 value untraceable: by W2"),
        (OPEN["again"], "△ 1 joint reopened"),
        (OPEN["major"], "△ major D1, open 5 days: lid cracked"),
        (OPEN["minor"], "△ minor D1, open 5 days: lid scratched"),
        (OPEN["unproven"], "△ 1 reading not-tested"),
    ],
)
def test_each_reason_is_told_in_words_and_numbers(tmp_path: Path, lines: str, reason: str):
    log(tmp_path, "a-1", DONE + lines)
    ((site, reasons),) = ranked(facts(tmp_path))
    assert site == "a-1"
    assert reason in reasons


def test_what_is_missing_is_counted_by_what_it_is(tmp_path: Path):
    log(tmp_path, "a-1", "08:10 torque foot-1..2 10 10 Nm\n")
    assert ranked(facts(tmp_path)) == [("a-1", ["○ 6 missing: 2 joints, 2 readings, 1 step, 1 look"])]


def test_what_is_due_again_is_told_with_its_age(tmp_path: Path):
    log(tmp_path, "a-1", day="2026-05-01", lines=DONE + SIGNED)
    ((_, reasons),) = ranked(facts(tmp_path))
    assert "△ 4 joints due again since 2026-11-01, 24 days" in reasons


def test_a_site_with_nothing_open_is_not_listed(tmp_path: Path):
    log(tmp_path, "a-1")
    found = facts(tmp_path)
    assert ranked(found) == []
    assert [(one.word, one.number) for one in found.states][-1] == ("complete by their sheets", 1)


def test_the_gravest_comes_first_whatever_the_others_number(tmp_path: Path):
    many = "".join(f"08:5{n} defect D{n} minor scratch {n}\n" for n in range(2, 8))
    wanted = [
        "danger",
        "away",
        "under",
        "failing",
        "untraceable",
        "missing",
        "again",
        "major",
        "minor",
        "unproven",
    ]
    for kind in reversed(wanted):  # the names tell the wrong order
        lines = {
            "missing": DONE.replace("08:30 look wall ok\n", ""),
            "minor": DONE + OPEN["minor"] + many,
        }.get(kind, DONE + OPEN.get(kind, ""))
        log(tmp_path, f"{wanted[::-1].index(kind)}-{kind}", lines)
    assert [site.split("-", 1)[1] for site, _ in ranked(facts(tmp_path))] == wanted


def test_of_two_alike_the_one_with_more_then_the_older_comes_first(tmp_path: Path):
    log(tmp_path, "a-one", DONE + OPEN["danger"])
    log(tmp_path, "b-two", DONE + OPEN["danger"] + "08:55 defect D2 danger hot terminal\n")
    log(tmp_path, "c-older", DONE + OPEN["danger"], day="2026-10-20")
    assert [site for site, _ in ranked(facts(tmp_path))] == ["b-two", "c-older", "a-one"]


def test_a_danger_stands_above_the_other_reasons_of_its_site(tmp_path: Path):
    log(tmp_path, "a-1", DONE + OPEN["under"] + OPEN["minor"] + OPEN["danger"].replace("D1", "D9"))
    ((_, reasons),) = ranked(facts(tmp_path))
    assert [one[:9] for one in reasons[:2]] == ["✗ danger ", "✗ 1 joint"]
    assert reasons[-1] == "△ minor D1, open 5 days: lid scratched"


def test_a_signature_that_no_longer_holds_brings_a_site_onto_the_list(tmp_path: Path):
    from sitelog.cli.main import main

    log(tmp_path, "a-1", DONE)
    path = tmp_path / "log-000.site"
    assert main(["sign", "mo", str(path), "--time", "09:30", "--today", "2026-11-20"]) == 0
    assert ranked(facts(tmp_path)) == []
    path.write_text(path.read_text("utf-8").replace("10.1", "10.2"), "utf-8")
    found = facts(tmp_path)
    ((_, reasons),) = ranked(found)
    assert "✗ 1 signature no longer holding: mo (installed)" in reasons
    (signatures,) = (one for one in found.sections if one.anchor == "signatures")
    assert signatures.short == "1"


def test_a_site_that_was_taken_down_needs_no_visit(tmp_path: Path):
    bad = "08:05 serial module-A SN-1\n08:10 torque foot-1..4 8 8 8 8 Nm\n"
    gone = "visit removal\nday 2026-11-22\n09:00 removed module-A SN-1 to workshop\n09:10 sign mo removed\n"
    log(tmp_path / "stays", "a-1", bad)
    log(tmp_path / "gone", "a-1", bad + gone)
    for folder in ("stays", "gone"):
        (tmp_path / folder / "small-1.sheet").write_text(f"{SHEET}part module-A\n", encoding="utf-8")
    assert [site for site, _ in ranked(facts(tmp_path / "stays"))] == ["a-1"]
    assert ranked(facts(tmp_path / "gone")) == []


def test_untraceable_values_are_told_by_tool(tmp_path: Path):
    lines = "08:50 torque foot-1..2 10 10 Nm with W2\n08:51 torque foot-3 10 Nm with W9\n"
    log(tmp_path, "a-1", DONE + lines)
    ((_, reasons),) = ranked(facts(tmp_path))
    assert "△ 3 values untraceable: 2 by W2, 1 by W9" in reasons

"""`trace`: a tool that came back wrong, and a recalled range of serials, on every site."""

import json
from datetime import date
from pathlib import Path

import pytest

from sitelog.cli.main import main
from sitelog.fleet.workspace import load
from sitelog.judging.trace import (
    IndicationError,
    SerialRange,
    found_error,
    percent,
    serial_range,
    touched,
    whereabouts,
)

TODAY = date(2027, 2, 1)

SHEET = """\
sheet  rack-2
source "fitting guide, page 4"
rule   guarded 95 %
joint  foot-1..4  12 Nm +-10 %
part   cell-A..B  serial like "NB####"
"""
KIT = """\
kit    van-9
tool   TW3  torque-wrench  4..20 Nm  +-4 %  serial 51
tool   TW4  torque-wrench  4..20 Nm  +-4 %  serial 52
calibrated TW3  2026-01-15  due 2027-01-15  cert K-1  found 12.0 Nm at 12 Nm  U 0.8 %
calibrated TW3  2027-01-20  due 2028-01-20  cert K-2  found 11.32 Nm at 12 Nm, 19.0 Nm at 20 Nm  U 0.8 %
calibrated TW4  2026-01-15  due 2027-01-15  cert K-3
"""
FIRST = """\
site   north-1
sheet  rack-2
kit    van-9
crew   mo  lead
day 2026-03-02
09:00  serial  cell-A..B   NB0400 NB0410
09:10  torque  foot-1..4   11.2 12.0 12.6 13.0 Nm  with TW3
09:30  torque  foot-4      12.0 Nm  with TW4
10:00  sign    mo installed

visit  service
day 2026-09-07
09:00  swap    cell-B NB0410 -> NB0420
"""
SECOND = """\
site   south-2
sheet  rack-2
kit    van-9
crew   jp  lead
day 2025-12-01
09:10  torque  foot-1..4   12 Nm  with TW3
09:30  serial  cell-A..B   NB0421 NB0410
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in {
        "rack.sheet": SHEET,
        "van.kit": KIT,
        "north-1.site": FIRST,
        "south-2.site": SECOND,
    }.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def _touched(folder: Path, error: IndicationError | None = None):  # type: ignore[no-untyped-def]
    workspace = load([str(folder)], TODAY)
    tool = workspace.kits[0].tools["tw3"]
    found = found_error(workspace.kits[0].calibrations["tw3"])
    assert found is not None
    return {(one.site, one.place): one for one in touched(workspace.judged, tool, error or found)}


def test_only_uses_since_the_calibration_before_are_touched(folder: Path) -> None:
    found = _touched(folder)
    assert {site for site, _ in found} == {"north-1"}  # south-2 was before 2026-01-15
    assert len(found) == 4


def test_the_error_is_taken_out_and_judged_again(folder: Path) -> None:
    # Error of indication, shown less true, over true (ISO 6789-2; measurement error, JCGM 200:2012, 2.16;
    # both from memory):
    # 12 Nm shown where 11.32 Nm was, so e = 0.68 / 11.32 = +6.007 %; true = shown / (1 + e).
    found = _touched(folder)
    one = found["north-1", "foot-2"]
    assert float(one.corrected.base) == pytest.approx(12.0 / (12 / 11.32), rel=1e-6)
    assert (one.before, one.after) == ("pass", "pass")  # 11.32 Nm is above 10.8 Nm
    low = found["north-1", "foot-1"]  # 11.2 shown was about 10.57 Nm: below 10.8 Nm
    assert low.after == "under"
    assert low.flips


def test_between_found_points_the_error_is_interpolated() -> None:
    error = IndicationError(((12.0, 0.06), (20.0, 0.02)), 0.008, None, None)
    assert error.at(16.0) == pytest.approx(0.04)
    assert error.at(4.0) == pytest.approx(0.06)
    assert error.at(25.0) == pytest.approx(0.02)


def test_a_value_replaced_since_is_said_to_be(folder: Path) -> None:
    assert not _touched(folder)["north-1", "foot-4"].stands


def test_an_error_given_by_hand_touches_all_uses(folder: Path) -> None:
    found = _touched(folder, IndicationError(((0.0, 0.2),), 0.0, None, None))
    assert len(found) == 8
    assert {one.after for one in found.values() if one.site == "south-2"} == {"under"}  # 12 / 1.2 = 10 Nm


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("NB0400..NB0420", SerialRange("nb", 400, 420, 4)),
        ("NB0400..20", SerialRange("nb", 400, 420, 4)),
        ("NB0400", SerialRange("nb", 400, 400, 4)),
    ],
)
def test_serial_ranges(text: str, expected: SerialRange) -> None:
    assert serial_range(text) == expected


@pytest.mark.parametrize("text", ["NB0420..NB0400", "NB0400..XC0420", "NB..NC", ".."])
def test_ranges_that_cannot_be_meant(text: str) -> None:
    assert isinstance(serial_range(text), str)


def test_recalled_serials_on_every_site(folder: Path) -> None:
    wanted = serial_range("NB0410..NB0420")
    assert isinstance(wanted, SerialRange)
    found = [
        (one.serial, one.site, one.place, one.until is None)
        for one in whereabouts(load([str(folder)], TODAY).judged, wanted)
    ]
    assert found == [
        ("NB0410", "south-2", "cell-B", True),
        ("NB0420", "north-1", "cell-B", True),
        ("NB0410", "north-1", "cell-B", False),
    ]


@pytest.mark.parametrize(
    ("text", "share"),
    [("+6 %", 0.06), ("-2,5%", -0.025), ("6", 0.06), ("\u22126", -0.06), ("\u20136 %", -0.06)],
)
def test_errors_in_per_cent(text: str, share: float) -> None:
    assert percent(text) == pytest.approx(share)


@pytest.mark.parametrize("text", ["six", "a12", "A6 %", ";5"])
def test_what_is_no_error_in_per_cent(text: str) -> None:
    """A letter in front of the digits is said, and is no crash."""
    assert "is no error in per cent" in str(percent(text))


def test_the_command_names_who_may_have_to_go_back(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trace", "tool", "TW3", str(folder), "--today", "2027-02-01"]) == 0
    out = capsys.readouterr().out
    assert "doubtful → under" in out  # in doubt since the tool was found outside its limits
    assert "go back to north-1: foot-1 (mo)" in out
    assert "licensed person" in out


def test_the_command_as_json(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trace", "serial", "NB0421", str(folder), "--format", "json"]) == 0
    assert [row["site"] for row in json.loads(capsys.readouterr().out)] == ["south-2"]


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["tool", "TW9"], "TW3, TW4"),
        (["tool", "TW4"], "--error"),
        (["tool", "TW3", "--error", "six"], "six"),
        (["serial", "NB2..NB1"], "backwards"),
    ],
)
def test_what_cannot_be_traced_is_one_line(
    folder: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], word: str
) -> None:
    assert main(["trace", *arguments[:2], str(folder), *arguments[2:]]) == 2
    err = capsys.readouterr().err
    assert word in err
    assert err.count("\n") == 1


CALIBRATED = "calibrated TW3 {day} due 2027-12-15 cert C-{day}{found}\n"
FOUND = " found 12 Nm at 11.32 Nm"


@pytest.mark.parametrize(
    ("found", "since", "until"),
    [
        ((False, False, True), "2026-01-15", "2027-01-15"),
        ((False, True, False), "2025-01-15", "2026-01-15"),
        ((True, False, False), None, "2025-01-15"),
        ((True, True, True), "2026-01-15", "2027-01-15"),
    ],
)
def test_the_newest_values_found_hold_since_the_calibration_before(
    tmp_path: Path, found: tuple[bool, ...], since: str | None, until: str
) -> None:
    """Whichever of three calibrations has them; before the first nothing is known."""
    days = ("2025-01-15", "2026-01-15", "2027-01-15")
    lines = [CALIBRATED.format(day=day, found=FOUND * has) for day, has in zip(days, found, strict=True)]
    kit = "kit van-2\ntool TW3 torque-wrench 4..20 Nm +-4 % serial 1\n" + "".join(lines)
    (tmp_path / "van.kit").write_text(kit, encoding="utf-8")
    error = found_error(load([str(tmp_path)], TODAY).kits[0].calibrations["tw3"])
    assert error is not None
    assert [day and str(day) for day in (error.since, error.until)] == [since, until]


# ---- what a trace may judge --------------------------------------------------------------------------
def _of_a_tester(folder: Path, calibrated: str) -> dict[str, tuple[str, str]]:
    """What a tester's error of +6 % makes of a trip time, a voltage and a setting: before and after."""
    (folder / "a.sheet").write_text(
        "sheet a\nreading rcd-time rcd2 <= 300 ms at 30 mA\nreading rcd-time rcd2 <= 40 ms at 150 mA\n"
        "reading voltage board 220..240 V\nset charge-current <= 25 A\n",
        encoding="utf-8",
    )
    (folder / "k.kit").write_text(
        "kit k\ntool T1 rcd-time 0..500 ms +-2 ms, voltage 0..600 V +-6 %, current 0..40 A +-2 %\n"
        + calibrated,
        encoding="utf-8",
    )
    (folder / "s.site").write_text(
        "site s\nsheet a\nkit k\ncrew mo lead\nday 2026-03-02\nuse T1\n"
        "reading rcd-time rcd2 120 ms at 30 mA\nreading voltage board 230 V\nset charge-current 20 A\n",
        encoding="utf-8",
    )
    workspace = load([str(folder)], TODAY)
    error = IndicationError(((0.0, 0.01),), None, None, None)
    found = touched(workspace.judged, workspace.kits[0].tools["t1"], error)
    return {one.what: (one.before, one.after) for one in found}


def test_the_condition_decides_the_limits_and_a_setting_is_no_measurement(tmp_path: Path) -> None:
    found = _of_a_tester(tmp_path, "calibrated T1 2026-01-15 due 2027-01-15 cert K-1\n")
    assert found == {"rcd-time": ("pass", "pass"), "voltage": ("pass", "pass")}


def test_an_uncertainty_that_nobody_states_is_unknown(folder: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    main(["trace", "tool", "TW4", str(folder), "--error", "+6 %", "--today", "2027-02-01"])
    out = capsys.readouterr().out
    assert "no U is stated, so it is unknown: the tool's own limits stand for it" in out
    assert "judged with all that is known now" in out

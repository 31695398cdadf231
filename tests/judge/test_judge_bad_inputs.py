"""Twelve lines typed on a real job, each wrong in its own way: the message says what is the matter."""

from pathlib import Path

import pytest

from sitelog.findings import Finding
from tests.judge.cases import judged

SHEET = """
part    module-A..C    serial like "QX####-#####"
joint   bracket-1..6   M8 class 8.8   12 Nm +-10 %
joint   dc-term-1..4   M8   9 Nm +-5 %
reading insulation  ac-N/earth, dc-pos/earth   >= 1 MΩ at 500 V
step    breaker-on
step    fault-lamp    60 s after breaker-on
step    breaker-off
step    cover-open    while breaker-off
"""


def said(folder: Path, log: str) -> tuple[dict[str, Finding], dict[str, str]]:
    """The findings about a log by slug, and the verdicts by what they are about."""
    workspace = judged({"asks": SHEET, "log": log}, folder)
    findings = {one.slug: one for one in reversed(workspace.findings)}
    verdicts = {one.what or one.place: one.verdict for site in workspace.judged for one in site.results}
    return findings, verdicts


def words(finding: Finding) -> str:
    """Message and help, as a reader sees them."""
    return f"{finding.message} {finding.help}"


def flagged(finding: Finding) -> str:
    """The stretch of the line that the finding points at."""
    return finding.text[finding.column - 1 : finding.end_column - 1]


def test_inch_pounds_written_as_newton_metres(tmp_path: Path) -> None:
    """106 in-lb are 12.0 N·m (1 lbf·in = 0.112985 N·m)."""
    findings, verdicts = said(tmp_path, "torque bracket-1..6 106 Nm\n")
    assert verdicts["bracket-1"] == verdicts["bracket-6"] == "over"
    found = findings["over-torque"]
    assert "bracket-1..6" in found.message
    assert "106 Nm" in found.message
    assert "13.2 Nm" in found.message
    assert "in-lb" in found.help
    assert "12.0" in found.help or "11.98" in found.help
    assert flagged(found) == "106 Nm"


def test_kilohms_where_megohms_were_meant(tmp_path: Path) -> None:
    findings, verdicts = said(tmp_path, "reading insulation ac-N/earth 2.1 kohm at 500 V\n")
    assert verdicts["insulation"] in ("under", "missing")
    found = findings["under"]
    assert "1 MΩ" in found.message
    assert "2.1 kΩ" in found.message
    assert "MΩ" in found.help
    assert flagged(found) == "2.1 kohm"


def test_a_test_voltage_too_low_does_not_count(tmp_path: Path) -> None:
    findings, _ = said(tmp_path, "reading insulation dc-pos/earth >999 MΩ at 250 V\n")
    found = findings["wrong-test-voltage"]
    assert "250 V" in found.message
    assert "500 V" in found.message
    assert "does not count" in found.message
    assert found.text.startswith("reading insulation dc-pos/earth")
    (site,) = judged(
        {"asks": SHEET, "log": "reading insulation dc-pos/earth >999 MΩ at 250 V\n"}, tmp_path
    ).judged
    (one,) = [one for one in site.results if one.place == "dc-pos/earth"]
    assert one.verdict == "missing"


def test_a_wire_size_that_a_comment_swallowed(tmp_path: Path) -> None:
    findings, _ = said(tmp_path, "cable battery/inverter # 8 Cu\n")
    found = findings["comment-ate-size"]
    assert found.severity == "error"
    assert "#8" in words(found)


def test_a_date_that_can_be_read_in_two_ways(tmp_path: Path) -> None:
    findings, _ = said(tmp_path, "day 3/2/2026\n")
    found = findings["ambiguous-date"]
    assert "2026-03-02" in words(found)
    assert "2026-02-03" in words(found)
    assert flagged(found) == "3/2/2026"


def test_a_list_one_short(tmp_path: Path) -> None:
    findings, verdicts = said(tmp_path, "torque bracket-1..6 12.1 12.0 11.9 12.2 12.0 Nm\n")
    found = findings["wrong-count"]
    assert found.message == "six places, but five values"
    assert flagged(found) == "12.1 12.0 11.9 12.2 12.0 Nm"
    assert {verdicts[f"bracket-{number}"] for number in range(1, 7)} == {"missing"}


def test_the_cover_opened_with_the_breaker_on(tmp_path: Path) -> None:
    findings, verdicts = said(tmp_path, "09:00 did breaker-on\n09:10 did cover-open\n")
    found = findings["out-of-order"]
    assert verdicts["cover-open"] == "out-of-order"
    assert "breaker-off" in found.message
    assert "stop" in found.help
    assert "make safe first" in found.help
    assert found.severity == "error"


def test_a_wait_cut_short(tmp_path: Path) -> None:
    findings, verdicts = said(tmp_path, "09:00 did breaker-on\n09:01 did fault-lamp waited 40 s\n")
    found = findings["too-soon"]
    assert verdicts["fault-lamp"] == "too-soon"
    assert "40 s" in found.message
    assert "60 s" in found.message
    assert "again" in found.help


def test_a_second_serial_where_one_is(tmp_path: Path) -> None:
    log = "serial module-B QX2607-00419\nserial module-B QX2607-00433\n"
    findings, _ = said(tmp_path, log)
    found = findings["serial-changed"]
    assert "QX2607-00419" in found.message
    assert "swap module-B QX2607-00419 -> QX2607-00433" in found.help
    assert "typing error" in found.help
    assert flagged(found) == "QX2607-00433"


@pytest.mark.parametrize(
    ("typed", "meant"), [("rd", "reading"), ("tourque", "torque"), ("lok", "look"), ("dif", "did")]
)
def test_an_unknown_kind(tmp_path: Path, typed: str, meant: str) -> None:
    findings, _ = said(tmp_path, f"{typed} insulation dc-pos/earth 200 MΩ at 500 V\n")
    found = findings["unknown-kind"]
    assert typed in found.message
    assert meant in words(found)
    assert flagged(found) == typed


def test_a_tool_used_beyond_its_range(tmp_path: Path) -> None:
    findings, verdicts = said(tmp_path, "torque dc-term-1..4 9 Nm with TD1\n")
    found = findings["tool-out-of-range"]
    assert {verdicts[f"dc-term-{number}"] for number in range(1, 5)} == {"untraceable"}
    assert "TD1 ends at 6 Nm" in found.message
    assert "not proven" in found.message


def test_a_place_that_no_sheet_knows(tmp_path: Path) -> None:
    findings, verdicts = said(tmp_path, "torque braket-4 12 Nm\n")
    found = findings["unknown-place"]
    assert "braket-4" in found.message
    assert "bracket-4" in found.help
    assert "still missing" in found.help
    assert verdicts["bracket-4"] == "missing"
    assert verdicts["braket-4"] == "no-limit"


def test_a_group_where_places_are_wanted(tmp_path: Path) -> None:
    findings, verdicts = said(tmp_path, "torque bracket 12 Nm\n")
    found = findings["unknown-place"]
    assert found.text[found.column - 1 : found.end_column - 1] == "bracket"
    assert "did you mean `bracket-1..6`? They are still missing" in found.help
    assert verdicts["bracket-1"] == "missing"

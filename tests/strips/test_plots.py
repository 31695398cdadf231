"""`--plot` of check and ask: what is drawn, where it stands, and what is said where nothing can be drawn."""

import io
import os
import re
import sys
from math import sqrt
from pathlib import Path

import pytest

from sitelog.cli.main import main
from sitelog.views.findings import CAUTION

CHECKOUT = Path(__file__).parents[2]
TODAY = ("--today", "2026-11-25")


@pytest.fixture(autouse=True)
def _in_the_checkout(monkeypatch):
    monkeypatch.setitem(os.environ, "SITELOG_CACHE", "")
    monkeypatch.chdir(CHECKOUT)


def _ask(capsys, question: str, *more: str) -> tuple[int, str, str]:
    status = main(["ask", question, *(more or ("example_logs",)), "--plot", *TODAY])
    return status, *capsys.readouterr()


def _strips(out: str) -> list[str]:
    """The lines with a strip, between their names and their verdicts."""
    return [line for line in out.splitlines() if re.search("[·─]{3}", line)]


# ---- check -----------------------------------------------------------------------------------------
def test_check_draws_between_the_findings_and_the_summary(capsys):
    logs = ["example_logs/sites/tannery-3.site", "example_logs/sites/weir-house.site"]
    assert main(["check", *logs, *TODAY]) == 1
    plain = capsys.readouterr().out
    assert main(["check", *logs, "--plot", *TODAY]) == 1
    drawn = capsys.readouterr().out
    before, after = plain.split("\nsite  ")
    assert drawn.startswith(before)
    assert drawn.endswith("\nsite  " + after)
    between = drawn.removeprefix(before).removesuffix("\nsite  " + after)
    heads = re.findall(r"^(\S+): (.+)$", between, re.MULTILINE)
    assert {"tannery-3", "weir-house"} == {site for site, _ in heads}
    assert ("tannery-3", "joints (Nm)") in heads
    assert ("tannery-3", "insulation (MΩ, log axis)") in heads
    under = next(line for line in _strips(between) if line.startswith("clamp-5"))
    assert re.fullmatch(r"clamp-5 +14\.1 Nm  ·+━*×├━*─*┤·+  under", under)


def test_check_draws_only_what_was_measured_against_a_limit(tmp_path, monkeypatch, capsys):
    (tmp_path / "a.sheet").write_text(
        "sheet a\njoint bolt-1..2 M8 12 Nm +-10 %\nlook wall-sound\n"
        "hole anchor-1 12 mm +0.5/-0 x 60 mm +10/-0\ncable battery/inverter drop <= 1 % size >= 6 mm2\n",
        encoding="utf-8",
    )
    (tmp_path / "a.site").write_text(
        "site a-1\nsheet a\ncrew mo lead\nday 2026-03-02\nlook wall-sound ok\ntorque bolt-1 12 Nm\n"
        "hole anchor-1 12.2 mm x 75 mm\nreading voltage L/N 231 V\n"
        "cable battery/inverter 6 mm2 Cu 4.5 m 20 A at 307 V dc\n",
        encoding="utf-8",
    )
    monkeypatch.chdir(tmp_path)
    main(["check", "--plot", *TODAY])
    out = capsys.readouterr().out
    assert [line.split("  ")[0] for line in _strips(out)] == [
        "bolt-1", "anchor-1", "anchor-1", "battery/inverter",
    ]  # fmt: skip
    assert re.findall(r"^a-1: (.*)$", out, re.MULTILINE) == [
        "joints (Nm)", "hole diameter (mm)", "hole depth (mm)", "voltage drop (%)",
    ]  # fmt: skip


def test_check_without_anything_measured_says_what_it_says_without_plot(tmp_path, monkeypatch, capsys):
    (tmp_path / "a.site").write_text("site a-1\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    main(["check", *TODAY])
    plain = capsys.readouterr().out
    main(["check", "--plot", *TODAY])
    assert capsys.readouterr().out == plain


@pytest.mark.parametrize("form", ["json", "sarif", "junit"])
def test_check_draws_for_people_only(form, capsys):
    assert main(["check", "example_logs", "--plot", "--format", form]) == 2
    assert capsys.readouterr() == ("", "sitelog: --plot draws below the text: leave --format out\n")


# ---- ask -------------------------------------------------------------------------------------------
def test_joints_of_a_site(capsys):
    status, out, _ = _ask(capsys, "joints at maple-118")
    strips = _strips(out)
    assert status == 0
    assert len(strips) == 14
    assert all(re.fullmatch(r"\S+ +[\d.]+ +\S+ +·+├[─━]*●[─━]*┤·*  pass", line) for line in strips)
    assert out.splitlines()[-1] == CAUTION
    assert "chapel-row-5: left half way since" in out.splitlines()[0]  # what stands above every answer


def test_readings_of_one_sort_on_several_sites(capsys):
    status, out, err = _ask(capsys, "readings insulation")
    assert status == 0
    assert "\ninsulation (MΩ, log axis)\n" in out
    assert re.search(r"^orchard-22 dc-pos/earth at 500 V +812 +kΩ +·+×├─+  under$", out, re.MULTILINE)
    assert re.search(r"^maple-118 dc-pos/ground at 500 V +>500 +MΩ +·+├─+●›+  pass$", out, re.MULTILINE)
    assert re.search(r"^orchard-22 dc-neg/earth at 500 V +— +·+├─+  missing$", out, re.MULTILINE)
    assert "errors found" in err


def test_what_was_read_twice_is_told_apart_by_its_day(capsys):
    _, out, _ = _ask(capsys, "history readings insulation at station-40")
    labels = [re.split(r"  +", line)[0] for line in _strips(out)]
    assert len(set(labels)) == len(labels) > 3
    assert any(label.endswith(" 2025-10-02") for label in labels)


def test_limits_are_drawn_where_only_the_value_is_shown_and_in_its_unit(capsys):
    _, out, _ = _ask(capsys, "joints in clamp at tannery-3 show value in in-lb")
    assert "\njoints (in-lb)\n" in out
    assert re.search(r"^clamp-5 +124\.8 in-lb  ━+×━+├━+─+┤·+  under$", out, re.MULTILINE)


def test_what_is_shown_is_drawn(capsys):
    _, out, _ = _ask(capsys, "cables show loss, length", "example_logs/sites/tannery-3.site")
    assert re.findall(r"^(cables .*)$", out, re.MULTILINE) == ["cables loss (W)", "cables length (m)"]
    _, out, _ = _ask(capsys, "sites show errors")
    assert re.search(r"^orchard-22 +11 +·+○·*  not ready$", out, re.MULTILINE)


def test_holes_have_two_sizes_and_steps_a_wait(capsys):
    log = "example_logs/sites/tannery-3.site"
    _, out, _ = _ask(capsys, "holes", log)
    assert re.findall(r"^(holes .*)$", out, re.MULTILINE) == ["holes diameter (mm)", "holes depth (mm)"]
    _, out, _ = _ask(capsys, "steps", log)
    assert re.search(r"^fault-lamp +98 s +·+├─+●─*  pass$", out, re.MULTILINE)


def test_counts_and_measures_are_bars(capsys):
    _, out, _ = _ask(capsys, "count torques replaced per by")
    bars = dict(re.findall(r"^(\w+) +\d+  (█+)$", out, re.MULTILINE))
    assert "\ncount of torques per by\n" in out
    assert {name: round(len(bar) / len(bars["iri"]) * 7) for name, bar in bars.items()} == {
        "bo": 4, "iri": 7, "lo": 9, "ta": 1, "wes": 1,
    }  # fmt: skip
    _, out, _ = _ask(capsys, "least value of readings insulation per site sort value")
    lengths = [line.count("█") for line in out.splitlines() if "█" in line]
    assert lengths == sorted(lengths)
    assert re.search(r"^orchard-22 +812 +kΩ +█$", out, re.MULTILINE)
    _, out, _ = _ask(capsys, "share of joints under torque per site")
    assert re.search(r"^tannery-3 +4\.5 %  █+$", out, re.MULTILINE)
    _, out, _ = _ask(capsys, "count joints")
    assert re.search(r"^count +\d+  █+$", out, re.MULTILINE)


def test_no_rows_draw_nothing(capsys):
    status, out, _ = _ask(capsys, "joints over", "example_logs/sites/tannery-3.site")
    assert (status, out) == (1, "")


@pytest.mark.parametrize(
    ("question", "said"),
    [
        ("parts", "parts have no size to draw: `show` a field with numbers, or ask for a count"),
        ("joints show place, tool", "what is shown has no size to draw: "),
        ("joints show low", "what is shown has no size to draw: "),
        ("oldest day of visits per site", "`day` is no size that could be drawn"),
        ("oldest opened of visits per site", "`opened` is no size that could be drawn"),
        ("steps where step = hung", "no row has a value, so there is nothing to draw"),
    ],
)
def test_what_cannot_be_drawn_is_said(question, said, capsys):
    status, out, err = _ask(capsys, question)
    assert (status, out) == (2, "")
    assert f"sitelog: {said}" in err


@pytest.mark.parametrize("more", [["--format", "json"], ["--format", "markdown"]])
def test_ask_draws_for_people_only(more, capsys):
    assert main(["ask", "joints", "example_logs", "--plot", *more]) == 2
    assert "leave --format and --sql out" in capsys.readouterr().err
    assert main(["ask", "--sql", "select 1", "example_logs", "--plot"]) == 2
    assert "leave --format and --sql out" in capsys.readouterr().err


def test_a_slip_in_a_question_is_said_as_without_plot(capsys):
    status, out, err = _ask(capsys, "joints show valeu")
    assert (status, out) == (2, "")
    assert "did you mean `value`?" in err


# ---- the output ------------------------------------------------------------------------------------
class _Terminal(io.StringIO):
    encoding = "utf-8"

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("columns", [30, 50, 80, 200])
def test_a_terminal_gives_the_width_and_takes_colour(columns, monkeypatch):
    for name, value in (("COLUMNS", str(columns)), ("TERM", "xterm"), ("NO_COLOR", "")):
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(sys, "stdout", out := _Terminal())
    assert main(["ask", "joints at tannery-3", "example_logs/sites/tannery-3.site", "--plot", *TODAY]) == 0
    assert "\x1b[32m●\x1b[0m" in out.getvalue()
    assert "\x1b[31m×\x1b[0m" in out.getvalue()
    drawn = re.sub(r"\x1b\[[0-9;]*m", "", out.getvalue()).removesuffix(f"{CAUTION}\n")
    assert max(map(len, drawn.splitlines())) <= columns
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr(sys, "stdout", plain := _Terminal())
    main(["ask", "joints at tannery-3", "example_logs/sites/tannery-3.site", "--plot", *TODAY])
    assert plain.getvalue().removesuffix(f"{CAUTION}\n") == drawn


def test_an_output_without_the_signs_gets_ascii(monkeypatch):
    bytes_ = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(bytes_, encoding="ascii", write_through=True))
    main(["ask", "readings insulation", "example_logs/sites/tannery-3.site", "--plot", *TODAY])
    out = bytes_.getvalue().decode("ascii")
    assert "insulation (Mohm, log axis)" in out
    assert re.search(r"^ac/earth at 500 V +1\.6 Mohm  \.+\[-+o-+  pass$", out, re.MULTILINE)
    assert "\\u" not in out


# ---- the field -------------------------------------------------------------------------------------
def test_uncertainty_is_that_of_the_tool_and_its_calibration(tmp_path, monkeypatch, capsys):
    """JCGM 100:2008: 4.3.7 (limits as a rectangular distribution), 4.3.3 (k = 2 of a certificate), 5.1.2."""
    (tmp_path / "a.kit").write_text(
        "kit a\ntool TW3 torque-wrench 4..20 Nm +-4 %\n"
        "calibrated TW3 2026-01-15 due 2027-01-15 cert K-1 found 12 Nm at 12 Nm U 0.8 %\n",
        encoding="utf-8",
    )
    (tmp_path / "a.sheet").write_text("sheet a\njoint bolt-1..2 M8 12 Nm +-10 %\n", encoding="utf-8")
    (tmp_path / "a.site").write_text(
        "site a-1\nsheet a\nkit a\ncrew mo lead\nday 2026-03-02\ntorque bolt-1 12.1 Nm with TW3\n",
        encoding="utf-8",
    )
    monkeypatch.chdir(tmp_path)
    import sitelog

    joints = sitelog.load(["."]).ask("joints show place, uncertainty")
    expected = 2 * sqrt((0.04 / sqrt(3)) ** 2 + (0.008 / 2) ** 2)
    found = {joint["place"]: joint["uncertainty"] for joint in joints}
    assert found == {"bolt-1": pytest.approx(expected), "bolt-2": None}
    torques = sitelog.load(["."]).ask("torques show place, uncertainty")
    assert [torque["uncertainty"] for torque in torques] == [pytest.approx(expected)]

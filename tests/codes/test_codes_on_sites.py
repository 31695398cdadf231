"""Scans, check digits, serials from site to site, in whole logs. Common practice, no source, unless said."""

import sys
from datetime import date
from pathlib import Path

import pytest

from sitelog.fleet.workspace import Workspace, load, rows

TODAY = date(2026, 11, 25)
SHEET = "sheet asks\npart module-A..B\n"


def _loaded(folder: Path, **texts: str) -> Workspace:
    """A workspace of logs by name; a sheet `asks` unless one is given."""
    for name, text in {"asks": SHEET, **texts}.items():
        ending = "sheet" if name == "asks" else "site"
        kit = "kit van\n" if (folder / "van.kit").exists() else ""
        head = "" if name == "asks" else f"site {name}\nsheet asks\n{kit}crew mo lead\n"
        (folder / f"{name}.{ending}").write_text(head + text, encoding="utf-8")
    return load([str(folder)], TODAY)


def _found(workspace: Workspace, *slugs: str) -> list[tuple[str, int, str, str]]:
    return [
        (Path(one.file).stem, one.line, one.severity, one.slug)
        for one in workspace.findings
        if one.slug in slugs
    ]


def _parts(workspace: Workspace) -> dict[tuple[object, object], dict[str, object]]:
    from sitelog.asking.subjects import SUBJECTS

    names = [column.name for column in SUBJECTS["parts"].all_columns]
    cells = [dict(zip(names, row, strict=True)) for row in rows(workspace)["parts"]]
    return {(one["site"], one["part"]): one for one in cells}


# ---- scans ---------------------------------------------------------------------------------------
def test_a_scan_is_the_serial_of_its_place(tmp_path: Path) -> None:
    """GS1 General Specifications: AI 21 is the serial number."""
    text = (
        "day 2026-03-02\nscan module-A (01)06291041500213(21)QX1\nscan module-B [)>\x1e06\x1dSQX2\x1e\x04\n"
    )
    workspace = _loaded(tmp_path, quay=text)
    parts = _parts(workspace)
    assert [parts["quay", f"module-{one}"]["serial"] for one in "AB"] == ["QX1", "QX2"]
    assert [one.slug for one in workspace.findings] == []


def test_a_scan_of_the_same_serial_confirms_and_of_another_is_said(tmp_path: Path) -> None:
    text = "day 2026-03-02\nserial module-A..B QX1 QX2\nscan module-A (21)QX1\nscan module-B (21)QX3\n"
    assert _found(_loaded(tmp_path, quay=text), "serial-changed") == [("quay", 7, "error", "serial-changed")]


def test_without_the_library_the_part_stays_missing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "biip", None)
    text = "day 2026-03-02\nscan module-A (21)QX1\nserial module-B QX2\n"
    workspace = _loaded(tmp_path, quay=text)
    assert _found(workspace, "extra-missing", "missing") == [
        ("quay", 2, "info", "missing"),
        ("quay", 5, "warning", "extra-missing"),
    ]
    assert "sitelog[scan]" in next(one.help for one in workspace.findings if one.slug == "extra-missing")


# ---- check digits --------------------------------------------------------------------------------
def test_a_transposed_serial_is_caught(tmp_path: Path) -> None:
    """GS1 India help page: 8904000210037; its 3 and 7 exchanged."""
    asks = "sheet asks\npart module-A..B check gs1\n"
    text = "day 2026-03-02\nserial module-A..B 8904000210037 8904000210073\n"
    workspace = _loaded(tmp_path, asks=asks, quay=text)
    assert _found(workspace, "check-digit") == [("quay", 5, "error", "check-digit")]
    verdicts = {place: part["verdict"] for (_, place), part in _parts(workspace).items()}
    assert verdicts == {"module-A": "pass", "module-B": "not-ok"}


def test_an_untested_check_digit_is_doubtful(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "stdnum", None)
    asks = "sheet asks\npart module-A check luhn\n"
    workspace = _loaded(tmp_path, asks=asks, quay="day 2026-03-02\nserial module-A 78949\n")
    assert _parts(workspace)["quay", "module-A"]["verdict"] == "doubtful"


# ---- a serial again ------------------------------------------------------------------------------
SWAPPED = "day 2026-03-02\nserial module-A..B QX1 QX2\nday 2026-06-01\nserial module-A QX3"


@pytest.mark.parametrize(("remark", "severity"), [("", "error"), ("  -- 2 V low, from the shelf", "warning")])
def test_a_serial_again_is_a_swap_where_it_says_why(tmp_path: Path, remark: str, severity: str) -> None:
    workspace = _loaded(tmp_path, quay=SWAPPED + remark)
    assert _found(workspace, "serial-changed") == [("quay", 7, severity, "serial-changed")]
    part = _parts(workspace)["quay", "module-A"]
    assert (part["serial"], part["since"], part["previous"]) == ("QX3", "2026-06-01", "QX1")
    history = [
        (one.serial, one.until is not None)
        for one in workspace.judged[0].placements
        if one.place == "module-A"
    ]
    assert history == [("QX1", True), ("QX3", False)]


def test_a_swap_written_as_a_serial_reopens_too(tmp_path: Path) -> None:
    asks = "sheet asks\npart module-A reopens seal\nlook seal\n"
    text = "day 2026-03-02\nserial module-A QX1\nlook seal ok\nserial module-A QX2 -- dented\n"
    (result,) = [
        one for one in _loaded(tmp_path, asks=asks, quay=text).judged[0].results if one.kind == "look"
    ]
    assert result.verdict == "reopened"


# ---- from site to site ---------------------------------------------------------------------------
def test_one_serial_on_two_sites_names_the_other(tmp_path: Path) -> None:
    workspace = _loaded(
        tmp_path,
        quay="day 2026-03-02\nserial module-A..B QX1 QX2\n",
        barn="day 2026-04-01\nserial module-A..B qx1 QX4\n",
    )
    assert _found(workspace, "serial-twice") == [("barn", 5, "error", "serial-twice")]
    (one,) = [one for one in workspace.findings if one.slug == "serial-twice"]
    assert one.message.startswith("qx1 sits at module-A of quay already (")
    assert one.message.endswith("quay.site:5)")
    assert one.text[one.column - 1 : one.end_column - 1] == "qx1"
    assert {site.site: (site.errors, site.ready) for site in workspace.sites} == {
        "barn": (1, False),
        "quay": (0, True),
    }


def test_a_part_that_left_one_site_and_came_to_another_is_history(tmp_path: Path) -> None:
    workspace = _loaded(
        tmp_path,
        quay="day 2026-03-02\nserial module-A..B QX1 QX2\nday 2026-05-01\nremoved module-A QX1\n",
        barn="day 2026-05-02\nserial module-A..B QX1 QX4\n",
    )
    assert _found(workspace, "serial-twice") == []
    parts = _parts(workspace)
    assert (parts["quay", "module-A"]["until"], parts["quay", "module-A"]["moved_to"]) == (
        "2026-05-01",
        "barn module-A",
    )
    assert parts["barn", "module-A"]["moved_from"] == "quay module-A"


def test_a_part_that_came_before_it_had_left_is_said(tmp_path: Path) -> None:
    workspace = _loaded(
        tmp_path,
        quay="day 2026-03-02\nserial module-A..B QX1 QX2\nday 2026-05-01\nswap module-A QX1 -> QX9\n",
        barn="day 2026-04-02\nserial module-A..B QX1 QX4\n",
    )
    assert _found(workspace, "serial-twice") == [("barn", 5, "error", "serial-twice")]
    assert any("left module-A of quay later, on 2026-05-01" in one.message for one in workspace.findings)


def test_within_one_site_the_place_alone_is_named(tmp_path: Path) -> None:
    text = "day 2026-03-02\nserial module-A QX1\nremoved module-A QX1 to workshop\nserial module-B QX1\n"
    parts = _parts(_loaded(tmp_path, quay=text))
    assert (parts["quay", "module-A"]["moved_to"], parts["quay", "module-B"]["moved_from"]) == (
        "workshop",
        "module-A",
    )


# ---- removal -------------------------------------------------------------------------------------
REMOVAL = """sheet asks
part  module-A..B
look  wall-sound
step  breaker-off                                      for removal
dead  dc-pos/dc-neg <= 50 V                            for removal
step  disconnected   after dead   while breaker-off    for removal
step  repacked       after disconnected                for removal
"""
INSTALL = "visit install\nday 2026-03-02\nserial module-A..B QX1 QX2\nvisit removal\nday 2026-05-12\n"
TAKEN = "did disconnected\nremoved module-A..B QX1 QX2 to returns\ndid repacked\nsign mo removed\n"
DEAD = "did breaker-off\ndead dc-pos/dc-neg 0 V with VT1 proved on PU1 before, after\n"
KIT = "kit van\ntool VT1 voltage-tester 12..1000 V proved on PU1\ntool PU1 proving-unit\n"


@pytest.fixture
def kit(tmp_path: Path) -> None:
    (tmp_path / "van.kit").write_text(KIT, encoding="utf-8")


@pytest.mark.usefixtures("kit")
def test_an_emptied_and_signed_site_closes_with_nothing_missing(tmp_path: Path) -> None:
    workspace = _loaded(tmp_path, asks=REMOVAL, quay=INSTALL + DEAD + TAKEN)
    assert workspace.findings == []
    assert workspace.gaps() == []
    (summary,) = workspace.sites
    assert (summary.missing, summary.ready) == (0, True)
    assert " closed " in str(rows(workspace)["sites"][0])


@pytest.mark.usefixtures("kit")
def test_unsigned_or_half_emptied_it_stays_open(tmp_path: Path) -> None:
    for taken in (TAKEN.replace("sign mo removed\n", ""), TAKEN.replace("A..B QX1 QX2", "A QX1")):
        workspace = _loaded(tmp_path, asks=REMOVAL, quay=INSTALL + DEAD + taken)
        assert " closed " not in str(rows(workspace)["sites"][0])
        assert any("wall-sound" in gap.text for gap in workspace.gaps())


@pytest.mark.usefixtures("kit")
def test_a_part_left_on_the_books_is_said(tmp_path: Path) -> None:
    workspace = _loaded(tmp_path, asks=REMOVAL, quay=INSTALL + DEAD + TAKEN.replace("A..B QX1 QX2", "A QX1"))
    assert _found(workspace, "part-left") == [("quay", 15, "warning", "part-left")]


@pytest.mark.usefixtures("kit")
def test_a_live_disconnection_is_caught(tmp_path: Path) -> None:
    live = "did breaker-on\n"
    workspace = _loaded(tmp_path, asks=REMOVAL, quay=INSTALL + DEAD + live + TAKEN)
    assert _found(workspace, "out-of-order", "live-work") == [
        ("quay", 13, "error", "out-of-order"),  # the breaker is on
        ("quay", 13, "error", "out-of-order"),  # and the proof of dead ended with it
        ("quay", 14, "warning", "live-work"),
    ]


@pytest.mark.usefixtures("kit")
def test_disconnected_before_it_was_proved_dead(tmp_path: Path) -> None:
    first, second = DEAD.splitlines(keepends=True)
    order = first + TAKEN.replace("did disconnected\n", "did disconnected\n" + second)
    workspace = _loaded(tmp_path, asks=REMOVAL, quay=INSTALL + order)
    assert _found(workspace, "out-of-order") == [("quay", 11, "error", "out-of-order")]

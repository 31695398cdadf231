"""The handover: its numbers are those of `ask`, its state follows from what is open, nothing is hidden."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

import pytest

import sitelog
from sitelog.fleet.workspace import Workspace, load
from sitelog.judging.judged import Site
from sitelog.report.handover import handover
from sitelog.report.handover.document import (
    Cell,
    Figures,
    Handover,
    Items,
    PageTable,
    Strips,
    Trend,
    Verbatim,
)
from sitelog.report.handover.page import page, page_of
from sitelog.views.rows import cell_text
from tests.report.reading import Page

EXAMPLES = Path(__file__).parents[2] / "example_logs"
TODAY = date(2026, 11, 25)
SITES = sorted(path.stem for path in (EXAMPLES / "sites").glob("*.site"))


@cache
def examples() -> Workspace:
    return load([str(EXAMPLES)], TODAY)


@cache
def logs() -> sitelog.Logs:
    return sitelog.load([str(EXAMPLES)], TODAY)


def site(name: str) -> Site:
    return next(one for one in examples().judged if one.name == name)


@cache
def facts(name: str) -> Handover:
    return handover(site(name), examples().findings)


@cache
def read(name: str) -> Page:
    return Page(page_of(site(name), examples().findings))


def part(of: Handover, sort: type, caption: str = "") -> object:
    return next(
        one
        for section in of.sections
        for one in section.parts
        if isinstance(one, sort) and getattr(one, "caption", "").startswith(caption)
    )


# ---- numbers ---------------------------------------------------------------------------------------------
# For each table: the question that gives the same rows, and for each of its heads the field. A person or a
# tool has its moment or its certificate below it.
_WHO = {"by": "by", "where": "line", "verdict": "verdict"}
_LIMITS = {
    "at least": "low",
    "at most": "high",
    "probability": "probability",
    "source of the limit": "source",
}
TABLES = {
    "Joints beside their limits": (
        "joints",
        {"joint": "place", "torque": "value", "margin": "margin", "tool": "tool", **_LIMITS, **_WHO},
    ),
    "Holes beside their limits": (
        "holes",
        {"hole": "place", "diameter": "diameter", "depth": "depth", "source of the limit": "source", **_WHO},
    ),
    "Parts: who sits where": (
        "parts",
        {"part": "part", "serial": "serial", "since": "since", "until": "until", "before it": "previous",
         "registered": "registered", "verdict": "verdict", "where": "line"},
    ),
    "Looked at": ("looks", {"looked at": "what", "found": "value", "wanted": "wanted", **_WHO}),
    "Settings": ("settings", {"setting": "what", "of": "place", "value": "value", "asked": "wanted", **_WHO}),
    "Steps with their order and waits": (
        "steps",
        {"step": "step", "waited": "waited", "wait asked": "wanted", "comes after": "after", **_WHO},
    ),
    "Conductors as laid": (
        "cables",
        {"conductor": "place", "size": "size", "length, one way": "length", "current": "current",
         "may carry": "capacity", "fuse": "fuse", **_WHO},
    ),
    "Conductors as computed, beside what is asked": (
        "cables where size > 0 mm2",
        {"conductor": "place", "voltage drop": "drop", "in volts": "drop_volts", "heat": "loss",
         "margin": "margin", "computed from": "basis", "where": "line"},
    ),
    "Defects from found to cleared": (
        "defects",
        {"defect": "defect", "grade": "severity", "what is wrong": "about", "found": "opened",
         "cleared": "cleared", "days open": "age", "where": "line"},
    ),
    "Spread: the largest less the smallest of the newest readings": (
        "readings where what has \"-spread\"",
        {"of": "points", "spread": "value", "at most": "high", "verdict": "verdict"},
    ),
    "Photos, asked and taken": ("photos", {"of": "of", "file": "photo", **_WHO}),
    "Visits": (
        "visits",
        {"visit": "purpose", "begun": "opened", "signed on": "closed", "signed by": "signed_by"},
    ),
}  # fmt: skip
READINGS = {"between": "points", "value": "value", "at": "at", "tool": "tool", **_LIMITS, **_WHO}


def asked(question: str, fields: dict[str, str], name: str) -> list[tuple[str, ...]]:
    limits = ("low", "high") if "low" in fields.values() else ()
    shown = ", ".join(dict.fromkeys((*fields.values(), *limits)))
    answer = logs().ask(f"{question} at {name} show {shown}")
    columns = {column.name: column for column in answer.columns}
    found = []
    for row in answer:
        cells = dict(zip(columns, row.cells, strict=True))
        texts = []
        for head, field in fields.items():
            text = cell_text(columns[field], cells[field])
            single = head == "margin" and "low" in cells and None in (cells["low"], cells["high"])
            texts.append("" if single else " ".join(text.split()))
        found.append(tuple(texts))
    return sorted(found)


def shown(rows: list[dict[str, str]], fields: dict[str, str]) -> list[tuple[str, ...]]:
    found = []
    for row in rows:
        texts = []
        for head in fields:
            text = row.get(head, "").split("|")[0]
            if head == "verdict":
                text = text[2:].removesuffix(", replaced")
            if head == "where":
                text = text.removeprefix("line ").rpartition(":")[2]
            texts.append(text)
        found.append(tuple(texts))
    return sorted(found)


@pytest.mark.parametrize("name", SITES)
def test_every_number_is_that_of_ask(name):
    tables = read(name).tables
    compared = 0
    for caption, (question, fields) in TABLES.items():
        wanted = asked(question, fields, name)
        assert shown(tables.get(caption, []), fields) == wanted, caption
        compared += len(wanted)
    sorts = {str(row["what"]) for row in logs().ask(f"readings at {name} show what")}
    for sort in sorts - {one for one in sorts if one.endswith("-spread")}:
        wanted = asked(f"readings {sort}", READINGS, name)
        assert shown(tables[f"Read: {sort}"], READINGS) == wanted, sort
        compared += len(wanted)
    assert compared > {"pump-house-2": 8, "maple-118": 35}.get(name, 60)


def test_a_trial_shows_what_ask_says():
    (row,) = logs().ask("series at maple-118 show energy, capacity, charge, temperature, margin, basis")
    table = {
        one["figure"]: one["discharge"]
        for one in read("maple-118").tables["Trials, with what their files gave"]
    }
    columns = [cell_text(column, cell) for column, cell in zip(
        logs().ask("series at maple-118 show energy, capacity, charge, temperature, margin, basis").columns,
        row.cells, strict=True)]  # fmt: skip
    heads = (
        "energy as logged",
        "energy scaled to what is asked",
        "charge",
        "mean temperature",
        "margin",
        "rests on",
    )
    assert [table[head] for head in heads] == columns


def test_pictures_show_the_numbers_of_the_tables():
    of = facts("tannery-3")
    strips = [one for p in (part(of, Figures),) for one in p.pictures if isinstance(one, Strips)]
    points = {one.label: one for strip in strips for one in strip.points}
    assert points["clamp-5"].value == 14.1
    assert (points["clamp-5"].low, points["clamp-5"].high) == (14.4, 17.6)
    assert points["clamp-5"].verdict == "under"
    assert points["clamp-5"].link == "#l-30"
    # W2 is good to 4 %, taken as rectangular (half-width / sqrt 3), with the calibration's U = 0.8 % at
    # k = 2: JCGM 100:2008, 4.3.7 and 5.1.2.
    half = 0.04 * 14.1 / 3**0.5
    assert points["clamp-5"].uncertainty == pytest.approx(
        2 * (half**2 + (0.004 * 14.1) ** 2) ** 0.5, rel=1e-6
    )


def test_uncertainty_follows_the_unit():
    """A bar in in-lb is the one in N·m by the inch and the pound-force (NIST SP 811:2008, B.8)."""
    strips = [one for one in part(facts("maple-118"), Figures).pictures if one.unit == "in-lb"]
    (point,) = [one for strip in strips for one in strip.points if one.label == "lug-4"]
    assert point.shown == "7.0 Nm"
    assert point.value == pytest.approx(7.0 / 0.1129848, rel=1e-6)
    assert 0.02 < point.uncertainty / point.value < 0.06


def test_the_trend_of_two_visits_is_drawn():
    trends = [
        one
        for section in facts("station-40").sections
        for p in section.parts
        if isinstance(p, Figures)
        for one in p.pictures
        if isinstance(one, Trend)
    ]
    insulation = next(one for one in trends if one.name.startswith("insulation"))
    lines = dict(insulation.lines)
    assert lines["dc-pos/earth at 500 V"] == (
        (date(2025, 10, 2), 999.0, ">"),
        (date(2026, 10, 8), 410.0, ""),
    )
    assert insulation.log
    assert (insulation.low, insulation.high, insulation.unit) == (1.0, None, "MΩ")


# ---- the first page --------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("name", "word", "shape"),
    [
        ("chapel-row-5", "Not complete", "✗"),
        ("hopfield-7", "Complete by its sheets", "✓"),
        ("maple-118", "Complete by its sheets", "✓"),
        ("orchard-22", "Not complete", "✗"),
        ("pump-house-2", "Taken down", "–"),
        ("station-40", "Complete by its sheets", "✓"),
        ("tannery-3", "Not complete", "✗"),
        ("weir-house", "Not complete", "✗"),
    ],
)
def test_the_state_of_each_example(name, word, shape):
    cover = facts(name).cover
    assert (cover.word, cover.shape) == (word, shape)


def test_no_word_says_that_anything_is_safe_or_complies():
    import re

    for name in SITES:
        words = re.sub(r"maker's instructions|make safe first", "", read(name).text.lower())
        assert re.findall(r"\b(safe|safely|compli\w*|conform\w*|certified|approved)\b", words) == []


def test_the_first_page_says_what_is_open_due_and_whom_to_call():
    cover = facts("chapel-row-5").cover
    assert [cell.text for cell in cover.call] == ["Lo Ferrand, 555 0142"]
    assert cover.open[0].text == "✗ 2 errors in the log, its sheets or its kits"
    assert cover.open[1].text.startswith("✗ ")
    assert len(cover.open) + cover.more == len(site("chapel-row-5").gaps) + 1
    assert cover.todo[0].text.startswith("✗ Left half way since 2026-11-23")
    assert cover.cautions[-1].startswith("This is a record and an aid")
    assert "hung: a module is a lift for two" in cover.cautions
    station = facts("station-40").cover
    assert "Due again on 2027-10-08" in station.todo[0].text
    assert "pole-1, pole-2" in station.todo[0].text
    assert [cell.text for cell in station.what][:3] == [
        "gandle-3 revision D", "module-A: KD25-03120", "module-B: KD26-11790",
    ]  # fmt: skip
    assert [(cell.text, cell.note) for cell in station.when] == [
        ("service 2026-10-08", "signed by lo on 2026-10-08"),
        ("install 2025-10-02", "signed by lo on 2025-10-02"),
    ]


def test_what_is_late_is_said_to_be():
    late = load([str(EXAMPLES / "sites" / "station-40.site")], date(2028, 1, 1))
    cover = handover(late.judged[0], late.findings).cover
    assert any(cell.text.startswith("△ Due since 2027-10-08") for cell in cover.todo)


def test_the_first_page_has_room_for_so_much_and_says_how_much_more(tmp_path):
    crew = "".join(f"crew p{at} helper\n" for at in range(9))
    visits = "".join(f"visit service\nday 20{at:02}-05-01\n09:00 note there\n" for at in range(10, 20))
    found = written(tmp_path, a__site=HEAD + crew + visits)
    cover = handover(found.judged[0], found.findings).cover
    assert [(cell.text, cell.note) for cell in cover.who][-2:] == [
        ("p2, helper", ""), ("and 6 more", "the log names them"),
    ]  # fmt: skip
    assert cover.when[0].text == "service 2019-05-01"
    assert (cover.when[-1].text, cover.when[-1].note) == ("and 6 more", "Visits and signatures")


def test_a_site_taken_down_asks_for_nothing_more():
    cover = facts("pump-house-2").cover
    assert cover.open == ()
    assert not any("due" in cell.text.lower().split() for cell in cover.todo)
    assert not any("module" in cell.text for cell in cover.what)  # no part sits there now


# ---- nothing is hidden -----------------------------------------------------------------------------------
def test_every_line_of_the_log_stands_there_with_its_anchor():
    for name in SITES:
        log = part(facts(name), Verbatim)
        written = (EXAMPLES / "sites" / f"{name}.site").read_text(encoding="utf-8").split("\n")[:-1]
        assert [line.text for line in log.lines] == written
        assert [line.anchor for line in log.lines] == [f"l-{at}" for at in range(1, len(written) + 1)]


def test_findings_stand_below_their_line():
    lines = part(facts("orchard-22"), Verbatim).lines
    assert lines[48].text == "13:30  torqe   lid-1..3     1.6 Nm"
    assert [(one.text, one.look) for one in lines[48].notes] == [
        ("✗ error: `torqe` is no kind of entry", "bad")
    ]


def test_struck_entries_say_who_struck_them_and_why():
    table = part(facts("maple-118"), PageTable, "Struck entries")
    (row,) = table.rows
    assert row[0].struck
    assert row[0].note == "of it lug-4"
    assert [cell.text for cell in row[1:]] == ["line 21", "that was Nm", "cal", "line 22"]
    assert row[3].note == "2026-08-19 09:44"
    orchard = part(facts("orchard-22"), PageTable, "Struck entries")
    assert [cell.text for cell in orchard.rows[0][1:3]] == ["line 32", "dial stood on the wrong range"]


def test_what_was_done_again_shows_the_older_value_and_the_newer():
    rows = read("tannery-3").tables["Done again: the newest counts, the older one stays as history"]
    assert rows[0]["what"] == "joint rail-4"
    assert rows[0]["was"].startswith("24.2 Nm|under: rail-4 24.2 Nm is below 25.2 Nm")
    assert rows[0]["newer"] == "28.1 Nm"
    assert (rows[0]["where"], rows[0]["newer in"]) == ("line 25", "line 27")


def test_swaps_show_both_serials():
    rows = read("station-40").tables["Parts that were changed or taken out, from first to last"]
    assert [(row["part"], row["serial"], row["until"]) for row in rows] == [
        ("module-B", "KD25-03121", "2026-10-08"),
        ("module-B", "KD26-11790", ""),
    ]


def test_what_a_lead_took_out_has_its_reason():
    (row,) = read("weir-house").tables["Taken out of what is asked: neither missing nor passed"]
    assert (row["what"], row["why"], row["by"]) == (
        "rod-1", "earth comes from the supply here, no rod", "fenn|2026-07-08 13:20",
    )  # fmt: skip


def test_tools_show_the_calibration_in_force_and_its_lateness():
    rows = {row["tool"].split("|")[0]: row for row in read("weir-house").tables[
        "Tools that gave values here, with the calibration in force"]}  # fmt: skip
    assert rows["R2"]["certificate"] == "N-0955|of 2025-05-30"
    assert rows["R2"]["due"] == "2026-05-31|✗ used after it"
    assert rows["R2"]["values here"] == "12"
    station = read("station-40").tables["Tools that gave values here, with the calibration in force"]
    assert [row["certificate"] for row in station if row["tool"].startswith("W2")] == [
        "N-0872|of 2025-02-11",
        "N-1141|of 2026-02-09",
    ]


@pytest.mark.parametrize("name", SITES)
def test_links_lead_to_lines_and_ids_stand_once(name):
    found = read(name)
    assert found.unclosed == []
    assert len(found.ids) == len(set(found.ids))
    assert {link.removeprefix("#") for link in found.links} <= set(found.ids)
    assert [tag for tag, _ in found.tags if tag in ("script", "link", "iframe", "object")] == []
    assert not [
        value
        for _, given in found.tags
        for key, value in given.items()
        if key.startswith("on")
        or (key in ("src", "href") and not str(value).startswith(("#", "data:image/jpeg")))
    ]


def test_the_same_log_gives_the_same_page():
    assert page(facts("maple-118")) == page(handover(site("maple-118"), examples().findings))


# ---- signatures ------------------------------------------------------------------------------------------
SHEET = 'sheet s-1\nsource "guide"\njoint foot-1..2 8 Nm +-10 %\nlook wall\n'
KIT = "kit k-1\ntool W torque-wrench 1..20 Nm +-4 %\ncalibrated W 2026-01-01 due 2027-01-01 cert A-1\n"
HEAD = 'site a-1 "A"\nsheet s-1\nkit k-1\ncrew mo lead\n'
WORK = "day 2026-03-02\n09:00 use W\n09:10 torque foot-1..2 8.0 8.1 Nm\n09:30 look wall ok\n"


def written(folder: Path, **files: str) -> Workspace:
    files = {"s_1.sheet": SHEET, "k_1.kit": KIT} | {
        name.replace("__", "."): text for name, text in files.items()
    }
    for name, text in files.items():
        (folder / name.replace("_", "-")).write_text(text, encoding="utf-8")
    return load([str(folder)], date(2026, 3, 2))


def held(workspace: Workspace) -> tuple[Cell, ...]:
    table = part(handover(workspace.judged[0], workspace.findings), PageTable, "Signatures, and")
    at = [head.text for head in table.heads].index("still holds")
    return tuple(row[at] for row in table.rows)


def test_a_signature_holds_until_a_line_above_it_is_changed(tmp_path):
    from sitelog.cli.main import main

    written(tmp_path, a__site=HEAD + WORK)
    log = tmp_path / "a.site"
    assert main(["sign", "mo", str(log), "--time", "10:00", "--today", "2026-03-02"]) == 0
    (cell,) = held(load([str(tmp_path)], date(2026, 3, 2)))
    assert (cell.text, cell.look) == ("✓ holds", "good")
    (tmp_path / "s-1.sheet").write_text(SHEET + "look ceiling\n", encoding="utf-8")
    (cell,) = held(load([str(tmp_path)], date(2026, 3, 2)))
    assert cell.text == "△ holds, by other sheets"
    log.write_text(log.read_text(encoding="utf-8").replace("8.1 Nm", "8.2 Nm"), encoding="utf-8")
    (cell,) = held(load([str(tmp_path)], date(2026, 3, 2)))
    assert (cell.text, cell.look, cell.link) == ("✗ changed since", "bad", "#l-7")


def test_a_signature_with_a_digest_says_that_it_holds_and_one_without_that_it_has_none():
    rows = read("hopfield-7").tables[
        "Signatures, and whether what stands above them is still what was signed"
    ]
    assert [row["still holds"].split("|")[0] for row in rows] == ["– no digest", "✓ holds"]


# ---- sites that are not as they should be ----------------------------------------------------------------
def test_a_site_in_several_logs_links_into_each(tmp_path):
    later = "visit service\nday 2026-03-03\n09:00 torque foot-1 8.2 Nm with W\n"
    found = written(tmp_path, a__site=HEAD + WORK, b__site=HEAD + later)
    of = handover(found.judged[0], found.findings)
    logs = [one for section in of.sections for one in section.parts if isinstance(one, Verbatim)]
    assert [one.lines[0].anchor for one in logs] == ["l-1-1", "l-2-1"]
    of_page = Page(page(of))
    assert {link.removeprefix("#") for link in of_page.links} <= set(of_page.ids)
    assert any(cell.link == "#l-2-7" for row in part(of, PageTable, "Joints beside").rows for cell in row)


@pytest.mark.parametrize(
    "text", ["site a-1\n", "site a-1\nsheet nowhere\n", HEAD, "site a-1\nday 2026-03-02\n???\n"]
)
def test_a_log_with_nothing_in_it_makes_a_page(tmp_path, text):
    found = written(tmp_path, a__site=text)
    of = handover(found.judged[0], found.findings)
    assert of.cover.word == "Not complete"
    html = Page(page(of))
    assert html.unclosed == []
    assert "Not complete" in html.text


def test_a_site_without_a_sheet_is_not_said_to_lack_nothing(tmp_path):
    found = written(tmp_path, a__site="site a-1\ncrew mo lead\nday 2026-03-02\n09:00 note hello\n")
    of = handover(found.judged[0], found.findings)
    assert "nothing tells what should have been done" in of.cover.meaning
    assert "Nothing that its sheets ask" not in Page(page(of)).text
    assert not [one for section in of.sections for one in section.parts if isinstance(one, Items)]


def test_a_struck_value_is_struck_through_and_its_place_is_not():
    table = part(facts("maple-118"), PageTable, "Joints that were handled")
    row = table.rows[0]
    assert (row[0].text, row[0].struck) == ("lug-4", False)
    assert (row[1].text, row[1].struck) == ("7.0 in-lb", True)
    assert row[3].text == "– struck, does not count"


def test_a_log_read_from_standard_input_makes_a_page(monkeypatch, capsys):
    import io

    from sitelog.cli.main import main

    data = (EXAMPLES / "sites" / "pump-house-2.site").read_bytes()
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(data)))
    files = [str(EXAMPLES / "dorrick-2.sheet"), str(EXAMPLES / "south-van.kit")]
    assert main(["handover", "pump-house-2", "-", *files, "--today", "2026-11-25"]) == 0
    out, err = capsys.readouterr()
    assert "taken down (dorrick-2)" in err
    assert "standard input" in Page(out).text
    assert "sign    cal removed" in Page(out).text

"""Small rules that no row of the stage table has: each with the least log that shows it."""

from contextlib import chdir
from datetime import date
from pathlib import Path

import pytest

from sitelog.asking.store.answer import answer
from sitelog.cli.main import main
from sitelog.fleet.workspace import Workspace, load, rows

TODAY = date(2026, 5, 20)
KIT = """\
kit    van
tool   TW1  torque-wrench  20..80 Nm   +-4 %  serial 1
tool   TW3  torque-wrench  3..18 Nm    +-4 %  serial 3
tool   TD1  torque-driver  0.4..2.5 Nm +-6 %  serial 5
calibrated TW1  2026-01-15  due 2027-01-15  cert K-1
calibrated TW3  2026-01-15  due 2027-01-15  cert K-3
calibrated TD1  2026-01-15  due 2027-01-15  cert K-5
"""
HEAD = "site   here\nsheet  asks\nkit    van\ncrew   mo  lead\n"


def site_with(folder: Path, sheet: str, log: str, head: str = HEAD) -> Workspace:
    """One site with a sheet and a log, judged."""
    for name, text in {"asks.sheet": f"sheet asks\n{sheet}", "van.kit": KIT, "here.site": head + log}.items():
        (folder / name).write_text(text, encoding="utf-8")
    with chdir(folder):
        return load(["."], TODAY)


def verdicts(workspace: Workspace) -> dict[str, str]:
    """The verdict of each place or thing."""
    (site,) = workspace.judged
    return {one.place or one.what: one.verdict for one in site.results}


def asked(workspace: Workspace, question: str) -> list[tuple[object, ...]]:
    """The rows of an answer."""
    return [tuple(row.cells) for row in answer(question, rows(workspace), TODAY).rows]


def slugs(workspace: Workspace) -> list[tuple[int, str]]:
    """Where what is said beyond infos stands."""
    return [(one.line, one.slug) for one in workspace.findings if one.severity != "info"]


# ---- entering a signature ------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("entry", "command"),
    [
        ("sign mo", "`sitelog sign mo`"),
        ("Sign mo day-end", "`sitelog sign mo --for day-end`"),
        ("17:40 sign mo serviced -- all done", "`sitelog sign mo --for serviced`"),
        ("sign", "`sitelog sign WHO`"),
    ],
)
def test_a_signature_is_not_entered_but_made(tmp_path, capsys, entry, command):
    site_with(tmp_path, "step delivery\n", "day 2026-05-20\n08:00 did delivery\n")
    path = tmp_path / "here.site"
    before = path.read_text(encoding="utf-8")
    with chdir(tmp_path):
        assert main(["enter", entry, "here.site", "--today", "2026-05-20"]) == 1
    assert path.read_text(encoding="utf-8") == before
    assert command in capsys.readouterr().err


# ---- what a gap says -----------------------------------------------------------------------------------
def test_a_gap_says_the_wait_and_the_limits_it_is_held_to(tmp_path):
    sheet = (
        "step breaker-on\nstep lamp 60 s after breaker-on\n"
        "cable stack/inverter drop <= 2 % size >= 6 mm2\n"
        "series discharge energy >= 6.4 kWh per 80 %\n"
        "dead dc-pos/dc-neg <= 50 V after 5 min\n"
    )
    texts = [gap.text for gap in site_with(tmp_path, sheet, "day 2026-05-20\n").gaps()]
    assert texts == [
        "breaker-on",
        "lamp (60 s after breaker-on)",
        "cable stack/inverter (drop <= 2 %, size >= 6 mm2)",
        "series discharge (energy >= 6.4 kWh per 80 %)",
        "dead dc-pos/dc-neg (<= 50 V, 5 min)",
    ]


# ---- a swap that names the wrong serial ----------------------------------------------------------------
def test_a_swap_of_a_serial_that_did_not_sit_there_is_in_doubt(tmp_path):
    log = "day 2026-05-18\n08:00 serial unit-1..2 ZN-1 ZN-2\n09:00 swap unit-1 {} -> ZN-9\n"
    wrong = site_with(tmp_path, "part unit-1..2\n", log.format("ZN-2"))
    assert verdicts(wrong) == {"unit-1": "doubtful", "unit-2": "pass"}
    assert slugs(wrong) == [(7, "serial-changed")]
    assert [one[:3] for one in asked(wrong, "parts doubtful show part, serial, reasons")] == [
        ("unit-1", "ZN-9", "doubtful: unit-1 holds ZN-1, not ZN-2")
    ]
    right = site_with(tmp_path, "part unit-1..2\n", log.format("ZN-1"))
    assert verdicts(right) == {"unit-1": "pass", "unit-2": "pass"}
    assert slugs(right) == []


# ---- the day of a visit --------------------------------------------------------------------------------
def test_a_visit_is_dated_by_its_own_first_day(tmp_path):
    head = (
        "visit install\nday 2025-04-02\n08:00 did delivery\n\n"
        "visit service\ncrew jp apprentice\nkit van\nday 2026-05-04\n09:00 look vents ok\n"
    )
    sheet = "step delivery\nlook vents for service\n"
    workspace = site_with(tmp_path, sheet, head)
    assert asked(workspace, "visits show purpose, opened") == [
        ("install", "2025-04-02"),
        ("service", "2026-05-04"),
    ]


def test_a_visit_without_a_day_of_its_own_stands_on_no_day(tmp_path):
    log = "day 2025-04-02\nvisit install\n08:00 did delivery\nvisit service\n15:00 look vents ok\n"
    workspace = site_with(tmp_path, "step delivery\nlook vents for service\n", log)
    assert asked(workspace, "visits show opened") == [("2025-04-02",), (None,)]
    assert slugs(workspace) == [(9, "no-day")]


# ---- days to come --------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("day 2026-05-20", []),
        ("day 2026-05-21", []),  # it is tomorrow already where the sun rises
        ("day 2026-05-22", [(5, "future-day")]),
        ("day 2062-05-20", [(5, "future-day")]),
        ("day 2026-05-20\n2026-06-20 08:00 note van booked", [(6, "future-day")]),
    ],
)
def test_a_day_later_than_tomorrow_is_a_warning(tmp_path, line, said):
    assert slugs(site_with(tmp_path, "step delivery\n", f"{line}\n08:30 did delivery\n")) == said


# ---- a defect that came back ---------------------------------------------------------------------------
BACK = """\
day 2026-04-01
08:00 did delivery
08:10 defect D1 minor of lid rattles
09:00 cleared D1
day 2026-05-10
09:00 defect D1 major of lid rattles again, hinge bent
"""


def test_a_defect_that_came_back_is_one_defect_and_says_so(tmp_path):
    workspace = site_with(tmp_path, "step delivery\n", BACK)
    assert asked(workspace, "defects show defect, severity, opened, reopened, cleared, age") == [
        ("D1", "major", "2026-04-01", "2026-05-10", None, 10)
    ]
    assert [one[0] for one in asked(workspace, "defects reopened open show defect")] == ["D1"]
    (said,) = [one for one in workspace.findings if one.severity != "info"]
    assert (said.line, said.slug) == (10, "defect-open")
    assert "open again, first found in line 7" in said.message


def test_cleared_for_good_its_age_is_that_of_the_last_time(tmp_path):
    workspace = site_with(tmp_path, "step delivery\n", BACK + "day 2026-05-13\n09:00 cleared D1\n")
    assert asked(workspace, "defects show reopened, cleared, age") == [("2026-05-10", "2026-05-13", 3)]
    assert asked(workspace, "defects open") == []
    assert slugs(workspace) == []


# ---- the tool of a list in which a value is a slip ---------------------------------------------------
@pytest.mark.parametrize(
    ("values", "found"),
    [
        # Without `with`, a tool in use is taken only where its range holds every value of the entry.
        ("3.6 3.6 36 3.6", {"untraceable": 3, "over": 1}),
        ("3.6 3.6 300 3.6", {"untraceable": 3, "over": 1}),
        ("3.6 36 36 3.6", {"untraceable": 2, "over": 2}),
        ("3.6 3.6 36", {"untraceable": 2, "over": 1}),
        ("3.6 36", {"untraceable": 1, "over": 1}),
    ],
)
def test_the_tool_of_a_list_with_a_slip(tmp_path, values, found):
    places = f"term-1..{len(values.split())}"
    log = f"day 2026-05-20\nuse TW1, TW3, TD1\n08:00 torque {places} {values} Nm\n"
    workspace = site_with(tmp_path, f"joint {places} 3.6 Nm +-10 %\n", log)
    given = list(verdicts(workspace).values())
    assert {one: given.count(one) for one in given} == found
    assert "which-tool" in {one.slug for one in workspace.findings}


# ---- what no sheet asks --------------------------------------------------------------------------------
def test_a_value_that_nobody_asks_needs_no_tool(tmp_path):
    """It is kept and can be found; without a limit no tool has to stand behind it."""
    log = "day 2026-05-20\n08:00 did delivery\n08:10 reading temperature cellar 11 degC\n"
    workspace = site_with(tmp_path, "step delivery\n", log)
    assert [finding.severity for finding in workspace.findings] == ["info"]
    assert verdicts(workspace) == {"delivery": "pass", "cellar": "no-limit"}
    assert workspace.sites[0].ready

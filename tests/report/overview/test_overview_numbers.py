"""Every number of the overview is that of `ask`."""

import re
from datetime import timedelta
from pathlib import Path

import pytest

import sitelog
from sitelog.report.overview.facts import STATES
from sitelog.report.overview.page import page
from sitelog.views.rows import cell_text
from tests.report.overview.fleets import DONE, EXAMPLES, SIGNED, TODAY, ReadTable, facts, log, tables

LOGS = sitelog.load([str(EXAMPLES)], TODAY)


@pytest.fixture(scope="module")
def shown() -> dict[str, ReadTable]:
    return {one.caption: one for one in tables(page(facts(EXAMPLES)))}


def answer(question: str) -> list[list[str]]:
    """An answer as a table shows it."""
    found = LOGS.ask(question)
    return [
        [cell_text(column, cell) for column, cell in zip(found.columns, row.cells, strict=True)]
        for row in found
    ]


def plain(rows: list[list[str]]) -> list[list[str]]:
    """The cells of a page without the mark in front of a verdict."""
    return [[re.sub(r"^[✓✗△○–] ", "", cell) for cell in row] for row in rows]


@pytest.mark.parametrize("caption", ["Open defects, the oldest first", "Joints under torque"])
def test_a_table_is_the_answer_to_the_question_below_it(shown, caption):
    table = shown[caption]
    question = re.search(r'sitelog ask "(.*)"$', table.behind)[1]
    assert table.rows
    assert plain(table.rows) == answer(question)


def test_all_sites_are_there_with_the_figures_of_ask(shown):
    table = shown["All sites, by name"]
    question = re.search(r'sitelog ask "(.*)"$', table.behind)[1]
    wanted = answer(question)
    words = {state: words.removesuffix(" by their sheets") for state, (_, words, _) in STATES.items()}
    assert len(wanted) == len(list(EXAMPLES.glob("sites/*.site")))
    assert plain(table.rows) == [[row[0], words[row[1]], *row[2:]] for row in wanted]


def test_states_are_counted_as_ask_counts_them():
    counted = {row["state"]: row["count"] for row in LOGS.ask("count sites per state")}
    shown = {one.word: one.number for one in facts(EXAMPLES).states}
    assert shown == {words: counted.get(state, 0) for state, (_, words, _) in STATES.items()}
    assert sum(shown.values()) == facts(EXAMPLES).sites


@pytest.mark.parametrize(
    ("caption", "question"),
    [
        ("By sheet, in numbers", "count joints under torque per sheet"),
        ("By tool, in numbers", "count joints under torque per kit, tool"),
    ],
)
def test_joints_under_are_counted_as_ask_counts_them(shown, caption, question):
    table = shown[caption]
    at = table.heads.index("under torque")
    under = {row[0]: int(row[at]) for row in plain(table.rows) if row[at] != "0"}
    counted = {
        row["sheet"] if "sheet" in row else f"{row['tool']} ({row['kit']})": row["count"]
        for row in LOGS.ask(question)
    }
    assert under == counted
    assert question in table.behind


def test_the_share_of_what_is_allowed_is_that_of_the_values(shown):
    """From the values themselves: (value - low) / (high - low)."""
    shares: dict[str, list[float]] = {}
    for row in LOGS.ask("joints where low is not none and high is not none and value is not none"):
        if row["verdict"] not in ("pre-only", "reopened"):
            low, high = row["low"].base, row["high"].base
            shares.setdefault(row["sheet"], []).append(float((row["value"].base - low) / (high - low)))
    table = shown["By sheet, in numbers"]
    found = {row[0]: (row[1], row[3], row[5]) for row in table.rows}
    assert found == {
        sheet: (str(len(some)), f"{min(some) * 100:.0f} %", f"{max(some) * 100:.0f} %")
        for sheet, some in shares.items()
    }


def test_tools_due_are_those_of_ask_with_the_sites_that_used_them(shown):
    table = shown["Tools whose calibration has run out, or will within 90 days"]
    due = {
        (row["tool"], row["kit"]): (row["due"].isoformat(), str(row["uses"]))
        for row in LOGS.ask("tools where due is not none")
        if row["due"] <= TODAY + timedelta(days=90)
    }
    at = {name: table.heads.index(name) for name in table.heads}
    found = {(row[at["tool"]], row[at["kit"]]): (row[at["due"]], row[at["values"]]) for row in table.rows}
    assert found == due
    where = {row[at["tool"]]: row[at["used at, newest first"]] for row in table.rows}
    for tool, sites in where.items():
        used = {
            row["site"]
            for subject in ("joints", "readings")
            for row in LOGS.ask(f"{subject} with {tool} show site")
        }
        assert {one.split(" ")[0] for one in sites.split(", ") if one} == used, tool
    lefts = [int(row[at["days left"]]) for row in table.rows]
    assert lefts == sorted(lefts)


def test_what_has_run_out_and_what_will_are_told_apart(tmp_path: Path):
    log(tmp_path, "a-1")
    shown = {one.caption: one for one in tables(page(facts(tmp_path)))}
    table = shown["Tools whose calibration has run out, or will within 90 days"]
    at = {name: table.heads.index(name) for name in table.heads}
    states = {row[at["tool"]]: (row[at["state"]], row[at["days left"]]) for row in table.rows}
    assert states == {"W2": ("✗ has run out", "-177"), "M1": ("△ within 30 days", "15")}


def test_long_tables_are_cut_and_say_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    for number in range(5):
        log(tmp_path, f"a-{number}", f"{DONE}08:50 defect D1 minor lid scratched\n{SIGNED}")
    monkeypatch.setattr("sitelog.report.overview.answers.told.__defaults__", (2,))
    monkeypatch.setattr("sitelog.report.overview.facts.MOST_SITES", 3)
    shown = {one.caption: one for one in tables(page(facts(tmp_path)))}
    assert len(shown["Open defects, the oldest first"].rows) == 2
    assert shown["Open defects, the oldest first"].behind.startswith(
        "… and 3 more. To ask for it: sitelog ask"
    )
    assert [row[0] for row in shown["All sites, by name"].rows] == ["a-0", "a-1", "a-2"]
    assert shown["All sites, by name"].behind.startswith("… and 2 more.")
    assert [row[-1] for row in shown["By severity and age, in numbers"].rows] == ["5"]


def test_no_more_rows_are_held_than_are_shown_of_a_large_fleet(tmp_path: Path):
    """What the page takes grows with the rows it shows, not with the joints of the fleet."""
    asked: dict[str, int] = {}
    for number in range(30):
        log(tmp_path, f"a-{number}")
    logs = sitelog.load([str(tmp_path)], TODAY)

    def counting(question: str) -> sitelog.Answer:
        found = logs.ask(question)
        asked[question] = len(found)
        return found

    from sitelog.report.overview import overview

    overview(counting, TODAY, {}, {})
    joints = len(logs.ask("joints"))
    assert joints == 120
    most = max(number for question, number in asked.items() if "newest day" not in question)
    assert most <= 30 + 10  # one row for a site, and no list of what stands at it

"""The example logs: each has the verdicts, findings and answers that the comment at its head promises."""

from collections import Counter
from contextlib import chdir
from datetime import date
from pathlib import Path

import pytest

from sitelog.asking.store.answer import answer
from sitelog.fleet.workspace import Workspace, load, rows
from sitelog.judging.judged import Site
from sitelog.notation.quantities import Quantity, format_quantity

HERE = Path(__file__).parents[2] / "example_logs"
TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def workspace() -> Workspace:
    """Every example, judged on one fixed day."""
    with chdir(HERE):
        return load(["."], TODAY)


def site_of(workspace: Workspace, name: str) -> Site:
    """One site by its name."""
    return next(site for site in workspace.judged if site.name == name)


# Counted by hand from the sheets and the logs: how many joints have which verdict.
JOINTS = {
    "hopfield-7": {"pass": 22},  # rail 6, clamp 6, pole 2, term 4, lid 4
    "tannery-3": {"pass": 15, "under": 1, "pre-only": 1, "reopened": 1, "missing": 4},
    "weir-house": {"pass": 10, "untraceable": 12},  # rail with R1, lid with D2; all others with R2
    "maple-118": {"pass": 14},  # lag 4, lug 4, panel 6
    "orchard-22": {"pass": 20, "untraceable": 3},  # rail 6, clamp 8, pole 2, term 4, lid 3
    "chapel-row-5": {"pass": 4, "missing": 18},
    "station-40": {"pass": 22},  # 22 at the install; pole and term again at the service
    "pump-house-2": {},  # a removal asks no joint
}

# (open by hand count: missing, errors, warnings)
TOTALS = {
    "hopfield-7": (0, 0, 0),
    "tannery-3": (17, 2, 2),
    "weir-house": (0, 3, 3),
    "maple-118": (0, 0, 0),
    "orchard-22": (13, 11, 1),
    "chapel-row-5": (47, 2, 3),
    "station-40": (0, 0, 0),
    "pump-house-2": (0, 0, 0),
}

# Errors and warnings by line: what a careful lead would want to hear, and nothing else.
FINDINGS = {
    "hopfield-7": [],
    "tannery-3": [(29, "pre-only"), (30, "under-torque"), (35, "out-of-order"), (41, "reopened")],
    "weir-house": [
        (27, "tool-found-out"),
        (27, "tool-out-of-calibration"),
        (28, "tool-found-out"),
        (28, "tool-out-of-calibration"),
        (38, "tool-found-out"),
        (38, "tool-out-of-calibration"),
    ],
    "maple-118": [],
    "orchard-22": [
        (17, "serial-pattern"),  # the letter O for a nought
        (20, "over"),  # 6.41 V for 64.1 V: a spread of 57.69 V
        (23, "no-unit"),
        (28, "wrong-count"),
        (29, "unit-case"),  # nm is nanometre
        (43, "which-tool"),  # no one tool holds 3.6 and 36 Nm
        (46, "under"),
        (47, "wrong-test-voltage"),
        (49, "unknown-kind"),
        (50, "bad-range"),
        (51, "unit-kind"),
        (54, "begins-with-dash"),
    ],
    "chapel-row-5": [
        (15, "not-ok"),
        (27, "under"),
        (33, "defect-open"),
        (36, "not-tested"),
        (40, "away"),
    ],
    "station-40": [],
    "pump-house-2": [],
}


def test_every_example_is_tested(workspace: Workspace) -> None:
    names = {site.name for site in workspace.judged}
    assert names == set(JOINTS) == set(TOTALS) == set(FINDINGS)
    assert names == {path.stem for path in HERE.rglob("*.site")}


@pytest.mark.parametrize("name", JOINTS)
def test_verdicts_of_the_joints(workspace: Workspace, name: str) -> None:
    site = site_of(workspace, name)
    assert Counter(one.verdict for one in site.results if one.kind == "joint") == JOINTS[name]


@pytest.mark.parametrize("name", TOTALS)
def test_totals(workspace: Workspace, name: str) -> None:
    summary = site_of(workspace, name).summary
    assert (summary.missing, summary.errors, summary.warnings) == TOTALS[name]
    assert summary.joints == sum(JOINTS[name].values())
    assert summary.joints_under == JOINTS[name].get("under", 0)
    assert summary.ready is (TOTALS[name] == (0, 0, 0))


@pytest.mark.parametrize("name", FINDINGS)
def test_errors_and_warnings_stand_where_the_slip_is(workspace: Workspace, name: str) -> None:
    file = site_of(workspace, name).log.files[0]
    found = [
        (one.line, one.slug) for one in workspace.findings if one.file == file and one.severity != "info"
    ]
    assert found == FINDINGS[name]


def test_the_clean_job_is_clean(workspace: Workspace) -> None:
    """Two sheets, two days, signed: all pass, and an info on a decimal comma is all there is."""
    site = site_of(workspace, "hopfield-7")
    assert {one.verdict for one in site.results if one.requirement is not None} == {"pass"}
    said = [one for one in workspace.findings if one.file == site.log.files[0]]
    assert {one.severity for one in said} == {"info"}
    assert [one.slug for one in said if one.slug != "photo-absent"] == ["decimal-comma"]
    assert site.gaps == ()
    assert site.summary.headlines == ()


def test_sheets_and_kits_of_the_examples_have_no_findings(workspace: Workspace) -> None:
    assert [one for one in workspace.findings if not one.file.endswith(".site")] == []


def test_what_was_probably_meant_is_said_and_nothing_changed(workspace: Workspace) -> None:
    site = site_of(workspace, "orchard-22")
    by_line = {one.line: one for one in workspace.findings if one.file == site.log.files[0]}
    assert "Nm" in by_line[29].help
    assert "lid-1..3" in by_line[50].message
    assert "812 kΩ" in by_line[46].message
    pole = next(one for one in site.results if one.place == "dc-pos/earth")
    assert pole.observation is not None
    assert pole.observation.value is not None
    assert format_quantity(pole.observation.value) == "812 kΩ"


def test_the_job_left_half_way_says_so_first(workspace: Workspace) -> None:
    site = site_of(workspace, "chapel-row-5")
    assert site.summary.headlines[0].startswith("left half way since 2026-11-23: q3 locked, breaker off")
    todo = [gap.text for gap in site.gaps if gap.stage == "to do"]
    assert "new hole for anchor-5, a hand to the left" in todo
    assert "label for the board" not in todo


def test_rework_is_not_held_against_a_joint(workspace: Workspace) -> None:
    """rail-4 was under, was seen and done again."""
    rail = next(one for one in site_of(workspace, "tannery-3").results if one.place == "rail-4")
    assert (rail.verdict, rail.reworks) == ("pass", 1)
    assert rail.previous is not None
    assert rail.previous.value is not None
    assert format_quantity(rail.previous.value) == "24.2 Nm"


def test_imperial_values_stay_as_written(workspace: Workspace) -> None:
    lug = {one.place: one for one in site_of(workspace, "maple-118").results if one.kind == "joint"}
    written = {
        place: one.observation.value.unit
        for place, one in lug.items()
        if one.observation and one.observation.value
    }
    assert written["lag-1"] == "ft-lb"
    assert written["lug-1"] == "in-lb"
    assert written["lug-4"] == "Nm"
    assert lug["lug-4"].verdict == "pass"


# ---- questions ---------------------------------------------------------------------------------------
QUESTIONS: dict[str, list[tuple[object, ...]]] = {
    "joints under torque show site, place, value, low, tool": [
        ("tannery-3", "clamp-5", "14.1 Nm", "14.4 Nm", "W2"),
    ],
    "count joints untraceable per site sort site": [
        ("orchard-22", 3),
        ("weir-house", 12),
    ],
    "readings insulation below 2 MΩ since 2026-01-01 show site, points, value sort value": [
        ("orchard-22", "dc-pos/earth", "812 kΩ"),
        ("tannery-3", "ac/earth", "1.6 MΩ"),
    ],
    # 410 MΩ is under half of whatever lies above 999 MΩ; of 530 MΩ that cannot be said.
    "readings insulation where value < 0.5 * previous show site, points, value, previous": [
        ("station-40", "dc-pos/earth", "410 MΩ", ">999 MΩ"),
    ],
    "parts in module-B at station-40 show serial, since, previous": [
        ("KD26-11790", "2026-10-08", "KD25-03121"),
    ],
    "defects open show site, defect, severity, age": [("chapel-row-5", "D1", "major", 2)],
    "steps out-of-order or too-soon show site, step, time": [("tannery-3", "breaker-on", "10:55")],
    "sites away show site": [("chapel-row-5",)],
    "entries struck show site, line sort site, line": [("maple-118", 21), ("orchard-22", 32)],
    "tools due within 30 days show tool, due sort tool": [("IT1", "2026-12-11"), ("TH2", "2026-12-01")],
    "joints at maple-118 in lug where value > 7 Nm show place, value sort place": [
        ("lug-1", "62 in-lb"),
        ("lug-3", "62 in-lb"),
    ],
}


@pytest.mark.parametrize("question", QUESTIONS)
def test_questions(workspace: Workspace, question: str) -> None:
    found = answer(question, rows(workspace), TODAY)
    assert [tuple(_plain(cell) for cell in row.cells) for row in found.rows] == QUESTIONS[question]


def _plain(cell: object) -> object:
    """A cell as a person would write it; a quantity with at most four digits."""
    if isinstance(cell, Quantity):
        return (
            format_quantity(cell) if len(f"{cell.number:f}") < 6 else f"{float(cell.number):.4g} {cell.unit}"
        )
    return cell


def test_the_emptied_site_is_closed(workspace: Workspace) -> None:
    """Both modules left, the removal is signed, and every step of it was done in its order."""
    site = site_of(workspace, "pump-house-2")
    assert site.closed
    assert [(stay.serial, stay.moved_to) for stay in site.placements] == [
        ("DR-003118", "returns"),
        ("DR-003121", "returns"),
    ]
    verdicts = {
        one.what or one.kind: one.verdict
        for one in site.results
        if one.requirement and one.kind in ("step", "dead")
    }
    assert verdicts == dict.fromkeys(
        ("inverter-off", "breaker-off", "dead", "disconnected", "dismounted", "repacked"), "pass"
    )

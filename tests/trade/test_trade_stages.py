"""The stage table of the job: what is right checks clean; what goes wrong in practice is found and asked."""

from pathlib import Path

import pytest

from tests.conftest import Expect
from tests.trade.stages import STAGES, Stage, Twin, answers, broken, judged, open_verdicts, signed, warnings

# The stages and what goes wrong in each: common practice, no source.
TABLE = {
    "survey": ("clearance too small", "wall anchor unfit", "too hot"),
    "delivery": ("a dropped module mounted anyway", "serials swapped"),
    "kit": ("driver past due", "used at the bottom of its range"),
    "fixing": ("hole too shallow", "joint left at pre-tightening"),
    "stacking": ("one bolt of six missed", "wrong unit read off the dial"),
    "first power test": ("cover opened with breaker on", "wait cut short"),
    "wiring": ("undersized conductor", "data beside power", "unsealed entry"),
    "electrical tests": (
        "live test before dead test",
        "insulation at the wrong test voltage",
        "kΩ typed for MΩ",
    ),
    "commissioning": ("serial not registered", "capacity short", "module out of balance"),
    "defects": ("signed off with a defect open",),
    "handover": ("edited after signing",),
    "service and recall": ("nobody can say which sites are affected",),
    "removal": ("live disconnection", "serial left on the books"),
}
TWINS = [
    pytest.param(stage, twin, id=f"{stage.name}: {twin.case.title}")
    for stage in STAGES
    for twin in stage.twins
]


def test_every_row_of_the_table_has_its_log_and_every_item_its_twin() -> None:
    assert {stage.name: stage.wrong for stage in STAGES} == TABLE
    for stage in STAGES:
        assert {twin.item for twin in stage.twins} >= set(stage.wrong), stage.name


@pytest.mark.parametrize("stage", STAGES, ids=lambda stage: stage.name)
def test_what_is_right_checks_clean(stage: Stage, tmp_path: Path) -> None:
    workspace = judged(signed(stage.files), tmp_path)
    assert warnings(workspace) == []
    assert open_verdicts(workspace) == []
    assert [gap.text for gap in workspace.gaps()] == []
    for summary in workspace.sites:
        assert summary.ready
        assert summary.sheets


@pytest.mark.parametrize(("stage", "twin"), TWINS)
def test_what_goes_wrong_is_found_and_answered(
    stage: Stage, twin: Twin, tmp_path: Path, expect: Expect
) -> None:
    """Its verdicts and findings, and nothing beside them; and questions that find it.

    Asked of the log that is right, the questions do not answer so.
    """
    right, wrong = tmp_path / "right", tmp_path / "wrong"
    right.mkdir()
    wrong.mkdir()
    good, bad = judged(signed(stage.files), right), judged(broken(signed(stage.files), twin), wrong)
    verdicts, said = open_verdicts(bad), warnings(bad)
    assert verdicts or said
    assert twin.questions
    asked = []
    for question in twin.questions:
        rows = answers(bad, question)
        assert rows
        assert not set(answers(good, question)) & set(rows)
        asked += [f"? {question}", *rows]
    expect(twin.case, *("".join(f"{line}\n" for line in lines) for lines in (verdicts, said, asked)))

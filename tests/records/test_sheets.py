"""Sheets built on sheets: what is replaced, what is dropped, what is appended, and what cannot be."""

from decimal import Decimal

import pytest

from sitelog.files.records import read_sheet
from sitelog.files.records.sheet import Sheet, assemble
from sitelog.files.source import from_bytes
from sitelog.findings import Finding

BASE = """\
sheet base-1 "The base"
source "guide for base-1"
rule guarded 95 %
same earth PE
joint bracket-1..4 M8 12 Nm +-10 %
reading insulation dc-pos/earth >= 1 Mohm at 500 V
look ventilation
step delivery
state pump-on pump-off
"""


def sheet(text: str, file: str = "a.sheet") -> Sheet:
    """A sheet that reads without a finding."""
    read = read_sheet(from_bytes(text.encode(), file))
    assert read.findings == ()
    return read


def built(*texts: str) -> tuple[Sheet, list[Finding]]:
    """The last of some sheets, on whatever of the others it is based on."""
    sheets = [sheet(text) for text in texts]
    return assemble(sheets[-1], {one.name.casefold(): one for one in sheets})


def test_what_is_not_said_again_is_kept() -> None:
    """A sheet that adds nothing asks what its base asks, under its own name, with the base's sources."""
    whole, findings = built(BASE, "sheet own-1\nbased on base-1\n")
    base, _ = built(BASE)
    assert findings == []
    assert [one._replace(sheet="") for one in whole.requirements] == [
        one._replace(sheet="") for one in base.requirements
    ]
    assert {one.sheet for one in whole.requirements} == {"own-1"}
    assert {one.source for one in whole.requirements} == {"guide for base-1"}
    assert (whole.guard, whole.same, whole.states) == (0.95, (("earth", "pe"),), (("pump-on", "pump-off"),))


def test_a_line_replaces_place_by_place_and_whole() -> None:
    """`bracket-2` is asked anew without size, the others stay, and work order is kept."""
    whole, findings = built(BASE, "sheet own-1\nbased on base-1\njoint bracket-2 9 Nm +-5 %\n")
    joints = [one for one in whole.requirements if one.kind == "joint"]
    assert findings == []
    assert [one.place for one in joints] == ["bracket-1", "bracket-2", "bracket-3", "bracket-4"]
    assert [one.size for one in joints] == ["M8", "", "M8", "M8"]
    assert [one.limits.target and one.limits.target.number for one in joints] == [12, 9, 12, 12]
    assert [one.kind for one in whole.requirements] == ["joint"] * 4 + ["reading", "look", "step"]


def test_another_condition_is_another_thing() -> None:
    """At 1000 V it is asked besides; at 500 V, written otherwise, instead."""
    more, _ = built(BASE, "sheet own-1\nbased on base-1\nreading insulation dc-pos/earth >= 1 Mohm at 1 kV\n")
    other, _ = built(
        BASE, "sheet own-1\nbased on base-1\nreading insulation dc-pos/earth >= 2 Mohm at 0.5 kV\n"
    )
    assert [one.condition and one.condition.base for one in more.requirements if one.kind == "reading"] == [
        500,
        1000,
    ]
    (reading,) = [one for one in other.requirements if one.kind == "reading"]
    assert reading.limits.low is not None
    assert reading.limits.low.base == 2_000_000


@pytest.mark.parametrize(
    ("line", "left"),
    [
        ("without joint bracket-4", {"joint": 3, "reading": 1, "look": 1, "step": 1}),
        ("without joint bracket-1..4", {"reading": 1, "look": 1, "step": 1}),
        ("without reading insulation", {"joint": 4, "look": 1, "step": 1}),
        ("without reading insulation dc-pos/earth", {"joint": 4, "look": 1, "step": 1}),
        ("without look ventilation", {"joint": 4, "reading": 1, "step": 1}),
        ("without step delivery", {"joint": 4, "reading": 1, "look": 1}),
    ],
)
def test_without_drops(line: str, left: dict[str, int]) -> None:
    """What is dropped is no longer asked, and nothing else is touched."""
    whole, findings = built(BASE, f"sheet own-1\nbased on base-1\n{line}\n")
    assert findings == []
    kinds = [one.kind for one in whole.requirements]
    assert {kind: kinds.count(kind) for kind in dict.fromkeys(kinds)} == left


def test_dropping_what_is_not_there() -> None:
    """A slip in a name would otherwise leave the requirement standing unseen."""
    _, (one,) = built(BASE, "sheet own-1\nbased on base-1\nwithout joint bracket-9\n")
    assert (one.slug, one.line, one.message) == ("unknown-place", 3, "`base-1` asks no joint bracket-9")


def test_circles_and_holes() -> None:
    """A sheet on itself, two on each other, and one on nothing: said, and its own lines still stand."""
    for texts in (
        ("sheet a-1\nbased on a-1\nlook x-1\n",),
        ("sheet b-1\nbased on a-1\n", "sheet a-1\nbased on b-1\nlook x-1\n"),
    ):
        whole, findings = built(*texts)
        assert {one.slug for one in findings} == {"sheet-cycle"}
        assert [one.what for one in whole.requirements] == ["x-1"]
    whole, (one,) = built("sheet a-1\nbased on nowhere\nlook x-1\n")
    assert (one.slug, one.message) == ("missing-sheet", "no sheet `nowhere` is in reach")
    assert [one.what for one in whole.requirements] == ["x-1"]


def test_two_sided_and_per_cent_limits() -> None:
    """`>= 270 V <= 345 V` is `270..345 V`; `+10/-6 %` of 230 V is 216.2 V to 253 V."""
    read = sheet(
        "sheet a-1\nreading voltage a/b >= 270 V <= 345 V\nreading voltage a/c 270..345 V\n"
        "reading voltage L/N 230 V +10/-6 %\njoint b-1 >= 10 Nm <= 14 Nm\n"
    )
    spans = [(one.limits.low, one.limits.high) for one in read.requirements]
    assert [(low and low.base, high and high.base) for low, high in spans] == [
        (270, 345),
        (270, 345),
        # 216.2 V to 253.0 V: Electricity Safety, Quality and Continuity Regulations 2002 (UK), regulation 27;
        # from memory.
        (Decimal("216.2"), 253),
        (10, 14),
    ]


def test_a_limit_is_never_lost_without_a_word() -> None:
    """Where a limit cannot be read, the sheet says so: asked without a limit, everything would pass."""
    for limit in (
        ">= 1 V",
        "<= 230 V / 0 A",
        ">= 5 Mohm <= 1 Mohm",
        ">= 1 Mohm >= 2 Mohm",
        "1 Mohm +-1 V",
        "5..1 Mohm",
    ):
        read = read_sheet(from_bytes(f"sheet a-1\nreading insulation dc/earth {limit}\n".encode(), "a.sheet"))
        assert [one.severity for one in read.findings] == ["error"], limit

"""Who cannot read a line does not know what it asks: such a site is complete nowhere."""

from pathlib import Path

import pytest

from sitelog.judging.completeness import state_of
from tests.judge.cases import TODAY, judged

LOG = "site s\nsheet a\nkit van\ncrew mo lead\nday 2026-03-02\ntorque y-1 12 Nm with TW3\nsign mo installed\n"
SHEET = "sheet a\njoint y-1 12 Nm +-10 %\n"
KIT = "kit van\ntool TW3 torque 2..50 Nm +-3 %\ncalibrated TW3 2026-01-01 due 2027-01-01 cert K-3 U 1 %\n"
FILES = {"s.site": LOG, "a.sheet": SHEET, "van.kit": KIT}


def test_a_site_of_which_every_line_can_be_read_is_complete(tmp_path: Path) -> None:
    (site,) = judged(FILES, tmp_path, TODAY).judged
    assert (state_of(site), site.summary.ready, site.gaps) == ("complete", True, ())


@pytest.mark.parametrize(
    ("file", "text", "line"),
    [
        ("a.sheet", f"{SHEET}joint y-2 12 Nm oops\n", 3),
        ("a.sheet", f"{SHEET}jiont y-2 12 Nm\n", 3),
        ("a.sheet", f"{SHEET}reading earth frame/earth <= 1 omh\n", 3),
        ("van.kit", f"{KIT}tool MM1 voltage 0..1000 Q\n", 4),
        ("s.site", LOG.replace("sign", "lock frame ear -- oops -> (\nlook frame nt ok so\nsign"), 8),
    ],
)
def test_a_line_that_cannot_be_read_keeps_a_site_from_complete(
    tmp_path: Path, file: str, text: str, line: int
) -> None:
    (site,) = judged({**FILES, file: text}, tmp_path, TODAY).judged
    assert (state_of(site), site.summary.ready) == ("not-complete", False)
    assert (file, line, "error") in [(Path(gap.file).name, gap.line, gap.severity) for gap in site.gaps]
    if file != "s.site":
        assert any(f"{file} says in line {line}" in words for words in site.summary.headlines)


def test_a_line_of_the_base_that_cannot_be_read_keeps_a_site_from_complete(tmp_path: Path) -> None:
    files = {**FILES, "a.sheet": f"{SHEET}based on b\n", "b.sheet": "sheet b\njoint y-2 12 Nm oops\n"}
    (site,) = judged(files, tmp_path, TODAY).judged
    assert state_of(site) == "not-complete"
    assert [Path(gap.file).name for gap in site.gaps] == ["b.sheet"]


def test_a_base_that_is_missing_keeps_a_site_from_complete(tmp_path: Path) -> None:
    (site,) = judged({**FILES, "a.sheet": f"{SHEET}based on gone\n"}, tmp_path, TODAY).judged
    assert state_of(site) == "not-complete"
    assert any("no sheet `gone` is in reach" in gap.text for gap in site.gaps)


def test_a_sheet_that_the_site_does_not_use_says_nothing_of_it(tmp_path: Path) -> None:
    (site,) = judged({**FILES, "c.sheet": "sheet c\njoint y-2 12 Nm oops\n"}, tmp_path, TODAY).judged
    assert state_of(site) == "complete"


def test_of_two_revisions_in_reach_none_is_taken_unsaid(tmp_path: Path) -> None:
    files = {**FILES, "a.sheet": SHEET.replace("a\n", "a revision A\n", 1)}
    files["b.sheet"] = "sheet a revision B\njoint y-1 20 Nm +-10 %\n"
    (site,) = judged(files, tmp_path, TODAY).judged
    assert state_of(site) == "not-complete"
    assert any("does not say which" in gap.text for gap in site.gaps)
    named = {**files, "s.site": LOG.replace("sheet a\n", "sheet a revision A\n")}
    (site,) = judged(named, tmp_path, TODAY).judged
    assert state_of(site) == "complete"


def test_of_two_kits_of_one_name_neither_is_taken_unsaid(tmp_path: Path) -> None:
    (site,) = judged({**FILES, "other.kit": KIT.replace("K-3", "K-4")}, tmp_path, TODAY).judged
    assert state_of(site) == "not-complete"

"""How often a tool was used, and when that is too often (X-19 and the interval of ISO 6789:2003)."""

from datetime import date
from pathlib import Path

import pytest

from sitelog.asking.subjects import SUBJECTS
from sitelog.fleet.workspace import load, rows

SHEET = "sheet s\njoint a-1..5001 12 Nm +-10 %\n"
KIT = "kit k\ntool W1 torque-wrench 4..20 Nm +-4 % serial 1\ncalibrated W1 2026-01-15{due} cert C-1\n"
LOG = "site x\nsheet s\nkit k\ncrew mo lead\nday 2026-03-02\n09:00 torque a-1..{last} 12 Nm with W1\n"


def _workspace(folder: Path, last: int, due: str = ""):  # type: ignore[no-untyped-def]
    for name, text in {
        "s.sheet": SHEET,
        "k.kit": KIT.format(due=due),
        "x.site": LOG.format(last=last),
    }.items():
        (folder / name).write_text(text, encoding="utf-8")
    return load([str(folder)], date(2026, 3, 3))


@pytest.mark.parametrize(
    ("last", "due", "said"), [(5000, "", 0), (5001, "", 1), (5001, " due 2027-01-15", 0)]
)
def test_5000_uses_are_the_most_where_the_kit_says_nothing(
    tmp_path: Path, last: int, due: str, said: int
) -> None:
    # ISO 6789:2003: 12 months or 5000 operations, whichever is first;
    # a company's own interval takes precedence.
    found = [one for one in _workspace(tmp_path, last, due).findings if "5000" in one.message]
    assert len(found) == said
    assert all(one.slug == "tool-out-of-calibration" and one.file.endswith("k.kit") for one in found)


def test_uses_are_counted_since_the_newest_calibration(tmp_path: Path) -> None:
    workspace = _workspace(tmp_path, 30)
    names = [column.name for column in SUBJECTS["tools"].all_columns]
    tool = dict(zip(names, rows(workspace)["tools"][0], strict=True))
    assert (tool["uses"], tool["cycles"]) == (30, 30)

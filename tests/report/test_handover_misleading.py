"""Pages do not say more than the log: tools as they were when used, every line with its own worst verdict."""

from datetime import date
from pathlib import Path

from sitelog.fleet.workspace import load
from sitelog.report.handover import handover
from sitelog.report.handover.document import Figures, Handover, PageTable

TODAY = date(2026, 12, 20)
SHEET = 'sheet s-1\nsource "guide"\njoint y-1..4 10 Nm +-10 %\n'
KIT = (
    "kit k-1\ntool W torque-wrench 1..200 Nm +-4 %\n"
    "calibrated W 2025-01-01 due 2026-01-01 cert A-1 found +1 %\n"
    "calibrated W 2026-12-01 due 2027-12-01 cert A-2 found +24 %\n"
)
HEAD = "site here\nsheet s-1\nkit k-1\ncrew mo lead\nday 2026-03-02\n"


def handover_site(tmp_path: Path, lines: str) -> Handover:
    """The handover of a log with these lines."""
    (tmp_path / "s-1.sheet").write_text(SHEET, encoding="utf-8")
    (tmp_path / "k-1.kit").write_text(KIT, encoding="utf-8")
    (tmp_path / "here.site").write_text(HEAD + lines, encoding="utf-8")
    workspace = load([str(tmp_path)], TODAY)
    return handover(workspace.judged[0], workspace.findings)


def table(page: Handover, caption: str) -> list[dict[str, str]]:
    """The rows of a table, by the words of their heads."""
    (found,) = [
        part
        for section in page.sections
        for part in section.parts
        if isinstance(part, PageTable) and part.caption.startswith(caption)
    ]
    heads = [head.text for head in found.heads]
    return [dict(zip(heads, (cell.text for cell in row), strict=True)) for row in found.rows]


def test_a_tool_is_shown_as_it_was_when_used(tmp_path: Path) -> None:
    """In calibration today, out of it when used, and found 24 % off later."""
    page = handover_site(tmp_path, "09:00 torque y-1..4 10 10 10 10 Nm with W\n")
    (row,) = table(page, "Tools that gave values here")
    assert row["at use"] == "✗ out of calibration"
    assert row["found before"] == "+1.0 %"
    assert row["found after"].startswith("✗")
    assert "24" in row["found after"]


def test_every_line_is_in_the_chronology_with_its_worst_verdict(tmp_path: Path) -> None:
    lines = (
        "09:00 use W\n"
        "09:05 torque y-1..4 10 10 100 10 Nm\n"
        "09:10 torque y-3 10 Nm\n"
        "09:15 defect D1 minor of y-1 scratch\n"
        "09:20 cleared D1 -- touched up\n"
        "09:25 note damp\n"
        "09:30 torqe y-9 what\n"
        "09:35 n/a y-4 by mo -- no such foot\n"
        "09:40 torque y-2 9 Nm\n"
        "09:45 strike torque y-2 9 Nm -- misread\n"
    )
    page = handover_site(tmp_path, lines)
    (day,) = [
        figure for section in page.sections for part in section.parts if isinstance(part, Figures)
        for figure in part.pictures if hasattr(figure, "events")
    ]  # fmt: skip
    labels = [event.label for event in day.events]
    assert len(labels) == 10, labels
    wrong = next(event for event in day.events if "y-1..4" in event.label)
    assert wrong.verdict not in ("", "pass")
    assert any(label.startswith("cannot be read") for label in labels)

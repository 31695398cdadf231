"""Insulation read on cold and on warm days, brought to 20 °C."""

from pathlib import Path

import pytest

import sitelog
from sitelog.notation.quantities import Quantity
from sitelog.physics.insulation import factor_to_reference

SHEET = """\
sheet   asks revision A
source  "unit guide"
same    earth PE
reading insulation dc-pos/earth >= 1 MΩ at 500 V
"""
LOG = """\
site   quay-14
sheet  asks
visit  install
day 2026-01-12
09:00  reading insulation dc-pos/earth 200 MΩ at 500 V, 10 degC
09:05  reading insulation dc-pos/earth 90 MΩ at 250 V, 10 degC
visit  service
day 2026-07-13
09:00  reading insulation dc-pos/PE 1 MΩ at 500 V
09:05  reading insulation dc-pos/earth 50 MΩ at 500 V, 30 degC
visit  service
day 2027-07-12
09:00  reading insulation dc-pos/earth >999 MΩ at 500 V, 20 degC
09:05  reading insulation dc-pos/earth 20 MΩ at 500 V, 86 degF
"""


@pytest.mark.parametrize(
    ("celsius", "factor"), [(0, 0.25), (10, 0.5), (20, 1), (30, 2), (40, 4), (15, 0.7071)]
)
def test_insulation_halves_every_ten_kelvin(celsius: float, factor: float) -> None:
    """Common practice, no source: half for every 10 K more."""
    assert factor_to_reference(celsius) == pytest.approx(factor, rel=1e-4)


def _shown(cell: object) -> str:
    return cell.text if isinstance(cell, Quantity) else ""


def test_visits_on_cold_and_warm_days_compare(tmp_path: Path) -> None:
    """What looks like a quarter was the weather; what fell is found. By hand: common practice, no source."""
    (tmp_path / "asks.sheet").write_text(SHEET, encoding="utf-8")
    (tmp_path / "quay-14.site").write_text(LOG, encoding="utf-8")
    logs = sitelog.load(str(tmp_path))
    rows = logs.ask("history readings insulation show value, corrected, corrected_previous")
    assert [(_shown(row["corrected"]), _shown(row["corrected_previous"])) for row in rows] == [
        ("100 MΩ", ""),
        ("45.0 MΩ", ""),  # at another test voltage: another thing
        ("", ""),  # nobody wrote how warm it was
        ("100 MΩ", "100 MΩ"),
        (">999 MΩ", "100 MΩ"),
        ("40 MΩ", ">999 MΩ"),
    ]
    days = [row["previous_day"] for row in logs.ask("history readings insulation show previous_day")]
    assert [str(day or "") for day in days] == ["", "", "", "2026-01-12", "2026-07-13", "2027-07-12"]
    fallen = logs.ask("history readings insulation where corrected < 0.5 * corrected_previous show value")
    assert [_shown(row["value"]) for row in fallen] == ["20 MΩ"]

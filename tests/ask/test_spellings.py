"""A place has every name that a `same` line of its sheet gives it, in questions too."""

from pathlib import Path

import pytest

from tests.ask.workspaces import ask

COLUMNS = (str(Path(__file__).parent / "columns"),)


@pytest.mark.parametrize(
    ("question", "field", "found"),
    [
        ("readings in dc-pos/PE", "points", ["dc-pos/earth"]),
        ("readings in dc-pos/ground", "points", ["dc-pos/earth"]),
        ("readings where points = DC-pos/pe", "points", ["dc-pos/earth"]),
        ("readings where points is */PE", "points", ["dc-pos/earth"]),
        ("readings where points in (dc-pos/ground, string-1)", "points", ["dc-pos/earth", "string-1"]),
        ("readings where points != dc-pos/ground", "points", ["string-1"]),
        ("joints in terminal", "place", ["lug-1"]),
        ("torques in lug-1", "place", ["terminal-1"]),
        ("parts in module-1", "part", ["module-A"]),
        ("holes in anchor-1", "place", ["wall-1"]),
        ("looks in near-the-door", "place", ["left"]),
        ("settings in inv", "place", ["inverter"]),
        ("cables in battery/inv", "place", ["battery/inverter"]),
    ],
)
def test_every_name_of_a_place_finds_it(question: str, field: str, found: list[str]) -> None:
    """What stands in the row is the name as the sheet, or the log, spells it."""
    assert [row[field] for row in ask(COLUMNS, question)] == found

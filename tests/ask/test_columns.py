"""Each subject has the columns that its rows can fill, no more, and no row has a cell that nobody takes."""

import shutil
from collections import defaultdict
from pathlib import Path

import pytest

from sitelog.asking.columns import common
from sitelog.asking.rows.common import row
from sitelog.asking.subjects import HISTORIES, SUBJECTS
from sitelog.fleet.workspace import load, rows
from tests.ask.workspaces import HAND_TODAY, hand_made
from tests.ask.workspaces import TODAY as TODAY_OF_EXAMPLES
from tests.trials.writing import table

CHECKOUT = Path(__file__).parents[2]
TABLES = {subject.stored: subject for subject in (*SUBJECTS.values(), *HISTORIES.values())}


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, ...]:
    """The example logs, the practice logs, those made by hand, and one that fills what is rare."""
    hand, rare = tmp_path_factory.mktemp("hand"), tmp_path_factory.mktemp("rare")
    hand_made(hand)
    shutil.copytree(Path(__file__).parent / "columns", rare, dirs_exist_ok=True)
    times = [*range(0, 3601, 10), *range(3601, 7202, 10)]
    cycle = [(time, -20 if time <= 3600 else 20, 50 if time <= 3600 else 54) for time in times]
    for number in (1, 2):
        text = table("time [s],current [A],voltage [V]", cycle)
        (rare / f"cycle-{number}.csv").write_text(text, encoding="utf-8")
    return str(CHECKOUT / "example_logs"), str(CHECKOUT / "tests" / "practice"), str(hand), str(rare)


def test_every_column_is_filled_by_some_row(folders: tuple[str, ...]) -> None:
    """A question about a column that can never be filled would have no answer but none."""
    filled: dict[str, set[str]] = defaultdict(set)
    for folder in folders:
        for day in (TODAY_OF_EXAMPLES, HAND_TODAY):
            for name, some in rows(load([folder], day), HISTORIES).items():
                columns = TABLES[name].all_columns
                filled[name] |= {
                    column.name
                    for made in some
                    for column, cell in zip(columns, made, strict=True)
                    if cell is not None
                }
    empty = {
        (name, column.name)
        for name, subject in TABLES.items()
        for column in subject.all_columns
        if column.name not in filled[name]
    }
    assert empty == set()


def test_a_cell_that_is_no_column_is_refused() -> None:
    """A misspelt cell would leave its column empty without a word."""
    assert row("sites", {"site": "shed-3", "joints": 4})[0] == "shed-3"
    with pytest.raises(KeyError, match="sites have no column jonits"):
        row("sites", {"site": "shed-3", "jonits": 4})
    with pytest.raises(KeyError, match="looks_history have no column cert"):
        row("looks_history", {"site": "shed-3", "cert": "K-1"})


def test_common_columns_are_those_that_there_are() -> None:
    """In the order of all; a misspelt one is refused."""
    assert [column.name for column in common("cert", "site")] == [
        "site", "cert", "file", "line", "text", "states",
    ]  # fmt: skip
    with pytest.raises(KeyError, match="cret"):
        common("cret")

"""Logs on the disk, read and judged, as the tests of questions ask them."""

from datetime import date
from functools import cache
from pathlib import Path

import sitelog
from sitelog import Answer, Logs
from tests.corpora import files_of

_FOLDER = Path(__file__).parents[2] / "example_logs" / "sites"
_NAMES = ("chapel-row-5", "hopfield-7", "maple-118", "orchard-22", "station-40", "tannery-3", "weir-house")

# Named one by one, so that an example more leaves every answer as it is.
EXAMPLES = tuple(str(_FOLDER / f"{name}.site") for name in _NAMES)
TODAY = date(2026, 11, 25)


@cache
def loaded(paths: tuple[str, ...], today: date = TODAY) -> Logs:
    """The logs, read once for all questions."""
    return sitelog.load(paths, today)


def ask(paths: tuple[str, ...], question: str, today: date = TODAY) -> Answer:
    """The answer to a question."""
    return loaded(paths, today).ask(question)


HAND_TODAY = date(2026, 12, 10)


def hand_made(folder: Path) -> tuple[str, ...]:
    """Write the logs, the sheet and the kit of tests/ask/hand/sites.txt into a folder."""
    text = (Path(__file__).parent / "hand" / "sites.txt").read_text(encoding="utf-8")
    for name, content in files_of(text).items():
        (folder / name).write_text(content, encoding="utf-8")
    return (str(folder),)

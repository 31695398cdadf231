"""Small logger's files for the tests, and reading them back."""

from collections.abc import Iterable
from pathlib import Path

from sitelog.files.trials.reading import read_trial
from sitelog.files.trials.results import Trial, TrialFault


def trial(tmp_path: Path, text: str, what: str = "", encoding: str = "utf-8") -> Trial:
    """The trial that a file with this text gives."""
    found = either(tmp_path, text, what, encoding)
    assert isinstance(found, Trial), found
    return found


def trouble(tmp_path: Path, text: str, what: str = "", encoding: str = "utf-8") -> TrialFault:
    """Why a file with this text gives none."""
    found = either(tmp_path, text, what, encoding)
    assert isinstance(found, TrialFault), found
    return found


def either(tmp_path: Path, text: str, what: str = "", encoding: str = "utf-8") -> Trial | TrialFault:
    """What a file with this text gives."""
    path = tmp_path / "trial.csv"
    path.write_bytes(text.encode(encoding))
    return read_trial(str(path), what)


def table(header: str, rows: Iterable[Iterable[object]], delimiter: str = ",") -> str:
    """A header and rows as the text of a file."""
    return "\n".join([header, *(delimiter.join(map(str, row)) for row in rows)]) + "\n"

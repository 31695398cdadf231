"""A photo that a sheet asks counts while its file is beside the log, and is the one that was meant."""

from datetime import date
from hashlib import sha256
from pathlib import Path

import pytest

from sitelog.fleet.workspace import load

HEAD = "site here\nsheet s-1\ncrew mo lead\nday 2026-03-02\n"


@pytest.mark.parametrize(
    ("there", "digest", "verdict"),
    [
        (True, "", "pass"),
        (False, "", "missing"),
        (True, sha256(b"seen").hexdigest()[:16], "pass"),
        (True, "0" * 16, "doubtful"),
        (False, "0" * 16, "missing"),
    ],
)
def test_a_photo_that_is_asked(tmp_path: Path, there: bool, digest: str, verdict: str) -> None:
    (tmp_path / "s-1.sheet").write_text('sheet s-1\nsource "guide"\nphoto label-board\n')
    entry = f"09:00 photo board.jpg of label-board{' hash ' + digest if digest else ''}\n"
    (tmp_path / "here.site").write_text(HEAD + entry)
    if there:
        (tmp_path / "board.jpg").write_bytes(b"seen")
    (site,) = load([str(tmp_path)], date(2026, 3, 9)).judged
    (result,) = [result for result in site.results if result.kind == "photo"]
    assert result.verdict == verdict
    assert bool(site.gaps) == (verdict != "pass")

"""Photos that a log names: there, not there, or not the one that was meant."""

from datetime import date
from hashlib import sha256
from pathlib import Path

import pytest

from sitelog.fleet.workspace import load

PHOTO = b"\xff\xd8 not really a picture"


def _slugs(folder: Path, line: str) -> list[tuple[str, str]]:
    text = f"site a\ncrew mo lead\nday 2026-03-02\n09:00 {line}\n"
    (folder / "a.site").write_text(text, encoding="utf-8")
    found = load([str(folder / "a.site")], date(2026, 3, 2)).findings
    return [(one.severity, one.slug) for one in found if one.slug.startswith("photo")]


def test_a_photo_that_is_not_there_is_an_info(tmp_path: Path) -> None:
    assert _slugs(tmp_path, 'photo "board 1.jpg" of board') == [("info", "photo-absent")]


@pytest.mark.parametrize("digits", [8, 64])
def test_a_photo_with_its_hash(tmp_path: Path, digits: int) -> None:
    (tmp_path / "board 1.jpg").write_bytes(PHOTO)
    digest = sha256(PHOTO).hexdigest()[:digits]
    assert _slugs(tmp_path, f'photo "board 1.jpg" of board hash {digest}') == []


@pytest.mark.parametrize("digest", ["0" * 64, "abc", "not-a-hash"])
def test_a_photo_that_was_changed_or_a_hash_that_is_none(tmp_path: Path, digest: str) -> None:
    (tmp_path / "board 1.jpg").write_bytes(PHOTO)
    assert _slugs(tmp_path, f'photo "board 1.jpg" of board hash {digest}') == [("error", "photo-changed")]

"""Signatures: they hold over moved blanks and other line ends, and not over anything that was changed."""

import re
from hashlib import sha256
from pathlib import Path
from unicodedata import normalize

import pytest

from sitelog.files.signatures import digest_of, normalised
from sitelog.findings import Finding
from sitelog.fleet.workspace import load
from tests.judge.cases import TODAY

SHEET = "sheet s\nlook vents\nlook seal\n"
ABOVE = (
    'site here  "Boat  store"\n'
    "sheet s\n"
    "day 2026-03-02\n"
    "\n"
    "08:00  look vents ok   -- dry,  and Ä\n"
    "08:05  look seal ok\n"
)


ABOUT = {"signature-broken", "signed-with-other-sheets"}


def signed(above: str = ABOVE, sheet: str = SHEET) -> str:
    """A log with its signature, made of exactly these lines and this sheet."""
    digest = digest_of(above.splitlines(), [sheet.splitlines()])
    return f"{above}08:10  sign mo installed  {digest}\n"


def said(folder: Path, log: str | bytes, sheet: str = SHEET) -> list[Finding]:
    """What is found of a log's signatures."""
    (folder / "s.sheet").write_text(sheet, encoding="utf-8")
    (folder / "here.site").write_bytes(log if isinstance(log, bytes) else log.encode())
    workspace = load([str(folder)], TODAY)
    return [one for one in workspace.findings if one.slug in ABOUT]


def test_the_digest_is_sha_256_of_the_lines() -> None:
    """FIPS 180-4 by Python's own library, over the lines with single blanks, NFC, without blank ones."""
    by_hand = (
        'site here "Boat  store"\nsheet s\nday 2026-03-02\n08:00 look vents ok -- dry,  and Ä\n'
        "08:05 look seal ok"
    )
    assert digest_of(ABOVE.splitlines(), []).whole == sha256(normalize("NFC", by_hand).encode()).hexdigest()


def test_an_untouched_log_holds(tmp_path: Path) -> None:
    assert said(tmp_path, signed()) == []


@pytest.mark.parametrize(
    "change",
    [
        lambda log: log.replace("08:05  look seal ok", "08:05 look    seal   ok  "),
        lambda log: log.replace("look seal", "look\tseal"),
        lambda log: log.replace("\n", "\r\n"),
        lambda log: "\ufeff" + log,
        lambda log: log.replace("day 2026-03-02\n\n", "day 2026-03-02\n\n\n\n"),
        lambda log: log.replace("day 2026-03-02\n\n", "day 2026-03-02\n"),
        lambda log: normalize("NFD", log),
        lambda log: log + "note said after the signature\n",
    ],
    ids=["blanks", "tab", "line ends", "byte order mark", "blank lines", "no blank line", "NFD", "below it"],
)
def test_what_does_not_change_the_meaning_does_not_break_it(tmp_path: Path, change) -> None:
    log = change(signed())
    assert log != signed()
    assert said(tmp_path, log) == []


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("look seal ok", "look seal not ok -- torn", 6),
        ("08:05", "08:06", 6),
        ("vents ok   --", "vents ok   --  ", 5),  # within a remark a blank counts
        ('"Boat  store"', '"Boat store"', 1),  # within quotes too
        ("look vents", "LOOK vents", 5),
        ("08:05  look seal ok\n", "", 0),
        ("day 2026-03-02\n", "day 2026-03-02\n07:00 note early\n", 0),
    ],
)
def test_any_change_above_breaks_it(tmp_path: Path, old: str, new: str, line: int) -> None:
    log = signed().replace(old, new, 1)
    assert log != signed()
    (broken,) = said(tmp_path, log)
    assert (broken.slug, broken.severity) == ("signature-broken", "error")
    assert "mo signed was changed" in broken.message
    named = re.search(r"first change is in line (\d+)", broken.message)
    if (
        line
    ):  # each line has a digit of its own: one change in sixteen goes unnamed, a wrong line is never named
        assert named is None or int(named[1]) == line


def test_a_changed_sheet_is_an_info(tmp_path: Path) -> None:
    (found,) = said(tmp_path, signed(), SHEET + "look label\n")
    assert (found.slug, found.severity) == ("signed-with-other-sheets", "info")


def test_a_damaged_digest_is_broken(tmp_path: Path) -> None:
    log = signed()
    (found,) = said(tmp_path, re.sub(r"digest-1:\w{10}", "digest-1:", log)[:-60] + "\n")
    assert found.slug == "signature-broken"


def test_signing_again_with_a_reason_makes_it_a_warning(tmp_path: Path) -> None:
    log = signed().replace("look seal ok", "look seal ok -- and clean")
    digest = digest_of(log.splitlines(), [SHEET.splitlines()])
    again = f"{log}08:20  sign mo installed -- remark added {digest}\n"
    (found,) = said(tmp_path, again)
    assert (found.slug, found.severity) == ("signature-broken", "warning")
    assert "signed again" in found.message
    without_reason = f"{log}08:20  sign mo installed {digest}\n"
    assert [one.severity for one in said(tmp_path, without_reason)] == ["error"]


def test_a_signature_by_hand_has_nothing_to_hold(tmp_path: Path) -> None:
    assert said(tmp_path, ABOVE + "08:10 sign mo installed\n") == []


def test_normalising_twice_changes_nothing() -> None:
    once = [text for _, text in normalised(ABOVE.splitlines())]
    assert [text for _, text in normalised(once)] == once

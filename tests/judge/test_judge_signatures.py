"""Signatures: they hold over moved blanks and other line ends, and not over anything that was changed."""

import re
from hashlib import sha256
from pathlib import Path
from unicodedata import normalize

import pytest

from sitelog.files.signatures import SignedFiles, digest_of, normalised
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
    own = "08:10  sign mo installed"
    return f"{above}{own}  {digest_of(above.splitlines(), own, SignedFiles([sheet.splitlines()]))}\n"


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
        "08:05 look seal ok\n08:10 sign mo installed"
    )
    digest = digest_of(ABOVE.splitlines(), "08:10  sign mo installed  digest-2:00", SignedFiles())
    assert digest.whole == sha256(normalize("NFC", by_hand).encode()).hexdigest()


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


def test_a_changed_sheet_is_a_warning(tmp_path: Path) -> None:
    """A sheet that asks less than when it was signed makes a signature worth less."""
    for sheet in (SHEET + "look label\n", SHEET.replace("look seal\n", "")):
        (found,) = said(tmp_path, signed(), sheet)
        assert (found.slug, found.severity) == ("signed-with-other-sheets", "warning")


KIT = "kit k\ntool V1 voltage-tester\ncal V1 2026-01-05 due 2027-01-05 cert K-1\n"


@pytest.mark.parametrize(
    ("kit", "severity", "words"),
    [
        (KIT, "", ""),
        (KIT + "cal V1 2027-01-04 due 2028-01-04 cert K-9\n", "info", "lines were added to the kits"),
        (KIT.replace("2027-01-05", "2029-01-05"), "warning", "lines of the kits that stood then, changed"),
        ("kit k\ntool V1 voltage-tester\n", "warning", "lines of the kits that stood then, changed"),
    ],
    ids=["the same", "a calibration more", "another due date", "a calibration less"],
)
def test_what_happened_to_the_kits_is_told_apart(tmp_path: Path, kit: str, severity: str, words: str) -> None:
    above = ABOVE.replace("sheet s\n", "sheet s\nkit k\n")
    own = "08:10  sign mo installed"
    files = SignedFiles([SHEET.splitlines()], [KIT.splitlines()])
    log = f"{above}{own}  {digest_of(above.splitlines(), own, files)}\n"
    (tmp_path / "k.kit").write_text(kit)
    found = said(tmp_path, log)
    assert [fault.severity for fault in found] == ([severity] if severity else [])
    assert all(words in fault.message for fault in found)


@pytest.mark.parametrize(
    ("old", "new"),
    [("sign mo", "sign rk"), ("sign mo installed", "sign mo serviced"), ("08:10", "18:10")],
    ids=["who", "for what", "when"],
)
def test_the_digest_covers_its_own_line(tmp_path: Path, old: str, new: str) -> None:
    (found,) = said(tmp_path, signed().replace(old, new))
    assert (found.slug, found.severity) == ("signature-broken", "error")


@pytest.mark.parametrize("name", ["board.jpg", "trial-1.csv"])
def test_the_digest_covers_photos_and_trials(tmp_path: Path, name: str) -> None:
    entry = "photo board.jpg of board" if name == "board.jpg" else "series discharge trial-1.csv"
    above, own = f"{ABOVE}08:06  {entry}\n", "08:10  sign mo installed"
    (tmp_path / name).write_bytes(b"as it was")
    files = SignedFiles([SHEET.splitlines()], [], [str(tmp_path / name)])
    log = f"{above}{own}  {digest_of(above.splitlines(), own, files)}\n"
    assert said(tmp_path, log) == []
    (tmp_path / name).write_bytes(b"another")
    (found,) = said(tmp_path, log)
    assert (found.slug, found.severity) == ("signature-broken", "error")
    assert f"{name}, which mo signed for, is not the file it was" in found.message
    (tmp_path / name).unlink()  # that it is not there is another finding
    assert said(tmp_path, log) == []


def test_a_photo_that_came_later_breaks_nothing(tmp_path: Path) -> None:
    above, own = f"{ABOVE}08:06  photo board.jpg of board\n", "08:10  sign mo installed"
    files = SignedFiles([SHEET.splitlines()], [], [str(tmp_path / "board.jpg")])
    log = f"{above}{own}  {digest_of(above.splitlines(), own, files)}\n"
    (tmp_path / "board.jpg").write_bytes(b"from the phone")
    assert said(tmp_path, log) == []


def test_an_old_digest_is_read_as_it_was_written(tmp_path: Path) -> None:
    """`digest-1:` is SHA-256 of the lines above, 8 digits of that of the sheets, and one digit a line."""
    lines = [text for _, text in normalised(ABOVE.splitlines())]
    sheet = "\n".join(text for _, text in normalised(SHEET.splitlines()))
    digits = sha256("\n".join(lines).encode()).hexdigest() + sha256(sheet.encode()).hexdigest()[:8]
    digits += "".join(sha256(line.encode()).hexdigest()[0] for line in lines)
    log = f"{ABOVE}08:10  sign mo installed  digest-1:{digits}\n"
    assert said(tmp_path, log) == []
    assert [fault.severity for fault in said(tmp_path, log, SHEET + "look label\n")] == ["info"]
    (found,) = said(tmp_path, log.replace("seal ok", "seal ok -- dry"))
    assert found.slug == "signature-broken"


def test_a_damaged_digest_is_broken(tmp_path: Path) -> None:
    log = signed()
    (found,) = said(tmp_path, re.sub(r"digest-2:\w{10}", "digest-2:", log)[:-60] + "\n")
    assert found.slug == "signature-broken"


def test_signing_again_with_a_reason_makes_it_a_warning(tmp_path: Path) -> None:
    log = signed().replace("look seal ok", "look seal ok -- and clean")
    used = SignedFiles([SHEET.splitlines()])
    own = "08:20  sign mo installed -- remark added"
    again = f"{log}{own} {digest_of(log.splitlines(), own, used)}\n"
    (found,) = said(tmp_path, again)
    assert (found.slug, found.severity) == ("signature-broken", "warning")
    assert "signed again" in found.message
    own = "08:20  sign mo installed"
    without_reason = f"{log}{own} {digest_of(log.splitlines(), own, used)}\n"
    assert [one.severity for one in said(tmp_path, without_reason)] == ["error"]


def test_a_signature_by_hand_has_nothing_to_hold(tmp_path: Path) -> None:
    assert said(tmp_path, ABOVE + "08:10 sign mo installed\n") == []


def test_normalising_twice_changes_nothing() -> None:
    once = [text for _, text in normalised(ABOVE.splitlines())]
    assert [text for _, text in normalised(once)] == once

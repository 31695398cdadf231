"""Any text at all: nothing raises, no line is lost, and every finding points into its line."""

import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitelog.files.records import read_kit, read_log, read_sheet
from sitelog.files.records.lines import read_lines
from sitelog.files.source import Source, from_bytes
from sitelog.findings import CATALOG, Finding
from sitelog.language.kinds import KIT, LOG, SHEET
from sitelog.language.syntax import kinds

EXAMPLES = Path(__file__).parents[2] / "example_logs"
FILES = [
    pytest.param(path, id=path.name)
    for ending in ("site", "sheet", "kit")
    for path in EXAMPLES.rglob(f"*.{ending}")
]
ENDINGS = {"log": "a.site", "sheet": "a.sheet", "kit": "a.kit"}
READ = {"log": read_log, "sheet": read_sheet, "kit": read_kit}
OF_THE_FILE = ("empty-file", "not-utf8", "line-too-long")  # these may point at the whole, by an empty span

_PIECES = """
by with at of after pre before while from to not on proved click held moved waited hash class serial due found
Nm Mohm MΩ mm V A % degC in-lb AWG kWh dc ac Cu x X × ± +- +0.5/-0 >= <= > < = * / ( ) : , . .. -> → ok U
12 12.1 12,1 1,000 12Nm 1/2 1-1/2 3'2" #8 #4/0 12x62 4..20 ___ 08:05 10.13 9.3 0930 2026-03-02 3/2/2026
bracket-1 bracket-1..6 bracket-6..1 module-A..C a-1,2 L/N dc-pos/earth D1 TW3 q2.Ia M8 digest-1:00 1'000 ½ é
" -- - — – # “ º −
"""
WORDS = sorted(
    {*LOG, *SHEET, *KIT, *kinds("sheet"), *kinds("kit"), *_PIECES.split()}
    | {'"Boat store"', "# 8", "\t", "\u00a0", "\x00", "\x1d", "\u2028", '""'}
)


def checked(data: bytes, role: str) -> Source:
    """Read it as that sort of file, and see that nothing of the text was passed over."""
    source = from_bytes(data, ENDINGS[role])
    found = READ[role](source).findings
    for one in found:
        points_into_its_line(one, source)
    spoken_of = {one.line for one in found}
    entries = {reader.entry.number for reader in read_lines(source, role, [])}
    for number, line in enumerate(source.lines, 1):
        if line.strip() and not line.lstrip().startswith("#") and number not in source.skip:
            assert number in entries or number in spoken_of, line
    return source


def points_into_its_line(one: Finding, source: Source) -> None:
    """Columns count from 1, the end is exclusive; one past the line is where something is missing."""
    assert one.slug in CATALOG
    assert one.severity in ("error", "warning", "info")
    assert one.message
    assert 1 <= one.line <= max(len(source.lines), 1)
    length = len(source.lines[one.line - 1]) if source.lines else 0
    if one.slug in OF_THE_FILE and one.column == one.end_column:
        assert one.column == 1
    else:
        assert 1 <= one.column < one.end_column <= length + 2, one


@given(
    st.lists(st.text(alphabet=st.characters(codec="utf-8"), max_size=40), max_size=8),
    st.sampled_from(sorted(READ)),
)
@settings(max_examples=150, deadline=None)
def test_any_text(lines: list[str], role: str) -> None:
    """Text of any characters."""
    checked("\n".join(lines).encode(), role)


@given(
    st.lists(st.lists(st.sampled_from(WORDS), min_size=1, max_size=9).map(" ".join), max_size=8),
    st.sampled_from(sorted(READ)),
)
@settings(max_examples=400, deadline=None)
def test_the_languages_own_words_in_any_order(lines: list[str], role: str) -> None:
    """Words, units, numbers and signs of the language, thrown together."""
    checked("\n".join(lines).encode(), role)


@given(st.binary(max_size=200), st.sampled_from(sorted(READ)))
@settings(max_examples=100, deadline=None)
def test_any_bytes(data: bytes, role: str) -> None:
    """Bytes that are no text."""
    checked(data, role)


def edited(text: str, rng: random.Random) -> str:
    """The text with a slip or two of the hand: a character or a line lost, doubled, changed or moved."""
    for _ in range(rng.randint(1, 4)):
        lines = text.split("\n")
        at = rng.randrange(len(lines))
        line = lines[at]
        spot = rng.randrange(len(line) + 1)
        slip = rng.randrange(9)
        if slip == 0:
            lines[at] = line[:spot] + line[spot + 1 :]
        elif slip == 1:
            lines[at] = line[:spot] + rng.choice(WORDS) + line[spot:]
        elif slip == 2:
            lines[at] = line[:spot] + rng.choice("0 .,-/\"#'()x\t") + line[spot + 1 :]
        elif slip == 3:
            lines[at] = line[:spot]
        elif slip == 4:
            words = line.split(" ")
            rng.shuffle(words)
            lines[at] = " ".join(words)
        elif slip == 5:
            del lines[at]
        elif slip == 6:
            lines.insert(at, line)
        elif slip == 7:
            lines.insert(at, lines.pop(rng.randrange(len(lines))))
        else:
            lines[at] = line + lines.pop(at + 1) if at + 1 < len(lines) else line * 2
        text = "\n".join(lines)
    return text


def slips(path: Path, count: int) -> Iterator[str]:
    """Some edited versions of a file, the same on every run."""
    text = path.read_text(encoding="utf-8")
    for seed in range(count):
        yield edited(text, random.Random(f"{path.name} {seed}"))


@pytest.mark.parametrize("path", FILES)
def test_slips_of_the_hand(path: Path) -> None:
    """A good file with random edits is read as far as it goes, line by line."""
    role = {".site": "log", ".sheet": "sheet", ".kit": "kit"}[path.suffix]
    whole = from_bytes(path.read_bytes(), path.name)
    checked("\n".join(whole.lines).encode(), role)
    for text in slips(path, 25):
        checked(text.encode(), role)


@pytest.mark.parametrize("path", [one for one in FILES if one.values[0].suffix == ".site"])  # type: ignore[attr-defined]
def test_a_slip_in_one_line_changes_that_line_only(path: Path) -> None:
    """What stands in the other lines is read as before: one record a line, whatever its neighbours say."""
    lines = path.read_text(encoding="utf-8").splitlines()
    before = {one.entry.number: one for one in read_log(from_bytes(path.read_bytes(), "a.site")).lines}
    rng = random.Random(path.name)
    for _ in range(10):
        at = rng.randrange(len(lines))
        changed = [*lines[:at], edited(lines[at], rng).replace("\n", " "), *lines[at + 1 :]]
        after = {
            one.entry.number: one for one in read_log(from_bytes("\n".join(changed).encode(), "a.site")).lines
        }
        del_at = at + 1
        assert {n: one for n, one in after.items() if n != del_at} == {
            n: one for n, one in before.items() if n != del_at
        }

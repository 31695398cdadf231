"""`tidy` moves blanks and spells units; it never changes what a file says. No source: common practice."""

import random
import re
from decimal import Decimal
from pathlib import Path

import pytest

from sitelog.base.frozen import fields_of, is_record
from sitelog.files.records import read_kit, read_log, read_sheet
from sitelog.files.signatures import SignedFiles, digest_of
from sitelog.files.source import from_bytes
from sitelog.files.tidying import tidied
from sitelog.language.kinds.base import Condition, Head, Place, Value
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.syntax.tokens import Entry, Token
from sitelog.notation.quantities import Quantity
from tests.corpus.cases import ALL

CHECKOUT = Path(__file__).parents[2]
EXAMPLES = sorted(path for path in (CHECKOUT / "example_logs").rglob("*") if path.is_file())
READ = {"log": read_log, "sheet": read_sheet, "kit": read_kit}
_POSITIONS = {"start", "end", "tool_at", "at", "column", "end_column"}
_SPELLINGS = {"text", "help"}


def said(thing):
    """A record as nested tuples without positions and texts: written apart from what `tidy` itself uses."""
    if isinstance(thing, Decimal):
        return str(thing)
    if isinstance(thing, Quantity):
        return thing.number, thing.unit, thing.kind, thing.base, thing.bound
    if isinstance(thing, Entry):
        return thing.kind, thing.number, thing.remark, thing.comment
    if isinstance(thing, Condition):
        return thing.key if thing.base is not None else " ".join(thing.text.split())
    if isinstance(thing, Requirement):  # its last field is the line as written
        return tuple(said(getattr(thing, name)) for name in thing._fields if name != "text")
    if isinstance(thing, (Place, Value, Head, Token)) or hasattr(thing, "_fields"):
        names = [name for name in thing._fields if name not in _POSITIONS | (_SPELLINGS - {"text"})]
        if hasattr(thing, "low_open"):  # limits: their text is a spelling where they are quantities
            text = "" if thing.low or thing.high or thing.formula else " ".join(thing.text.split())
            return *(said(getattr(thing, name)) for name in names if name != "text"), text
        return tuple(said(getattr(thing, name)) for name in names)
    if is_record(thing):
        names = [name for name in fields_of(thing) if name not in _POSITIONS]
        if hasattr(thing, "value") and getattr(thing, "quantity", None) is not None:
            names.remove("value")
        return type(thing).__name__, *(said(getattr(thing, name)) for name in names)
    if isinstance(thing, dict):
        return tuple((key, said(value)) for key, value in thing.items())
    if isinstance(thing, (tuple, list)):
        return tuple(map(said, thing))
    return thing


def records(data, file):
    """Everything that is read of a file; findings by line, slug and words."""
    source = from_bytes(data, file)
    read = READ[source.role or "log"](source)
    found = [(one.line, one.slug) for one in read.findings]
    names = read._fields if hasattr(read, "_fields") else list(fields_of(read))
    whole = {name: getattr(read, name) for name in names}
    for name in ("findings", "text", "based_text"):
        whole.pop(name, None)
    return said(tuple(whole.items())), sorted(found)


def tidy_bytes(data, file):
    text = data.decode("utf-8", "surrogateescape")
    return tidied(text, file).encode("utf-8", "surrogateescape")


def holds(data, file):
    once = tidy_bytes(data, file)
    assert records(once, file) == records(data, file)
    assert tidy_bytes(once, file) == once
    assert once.count(b"\n") == data.count(b"\n")
    assert once.count(b"\r") == data.count(b"\r")
    # Nothing but blanks and spellings of units differs; in a sheet or kit, nothing but blanks.
    if not file.endswith(("site", "txt")):
        assert re.sub(rb"[ \t]", b"", once) == re.sub(rb"[ \t]", b"", data)
    return once


@pytest.mark.parametrize("case", [pytest.param(case, id=f"{case.path.stem}:{case.title}") for case in ALL])
def test_every_case_of_the_corpus_says_the_same(case):
    once = holds(case.data, case.file)
    holds(case.data.replace(b"\n", b"\r\n") if b"\r" not in case.data else case.data, case.file)
    holds(b"\xef\xbb\xbf" + once.rstrip(b"\n"), case.file)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_every_example_says_the_same(path):
    holds(path.read_bytes(), path.name)


_WORDS = (
    "torque reading look did hole cable note defect strike use serial set dead photo lock sign day away "
    "bracket-1..3 bracket-1,3 module-A..C dc-pos/earth L/N a-1 b-2, insulation voltage rcd2 frame/earth scan "
    '"IMG 2041.jpg" "two  blanks" TW3 QX2607-00418 minor ok not tested pre click held moved with by at of '
    "12 12.0 12,1 9.8 >999 <0.01 12Nm 12NM 4.5m 106 in-lb lbf.in Nm N.m NM Mohm MΩ kΩ ohm mm2 mm² 500 V v "
    "12x62mm 1-1/2in #8 AWG 8 % waited 75s 75 sec 5 x 30 mA 270..345 ___ -> 08:50 10.13 8:05 am 2026-03-02 "
    "-- — – - # #3 . .. , é ’ “a  b” \u00a0 \u2009 3'2\" C °C º Vdc dc from"
)
_PIECES = _WORDS.split(" ")


@pytest.mark.parametrize("seed", range(40))
def test_random_lines_say_the_same(seed):
    """Words of every sort in any order, with blanks and tabs thrown in; most lines are faulty."""
    dice = random.Random(seed)
    lines = [b"site yard-1"]
    for _ in range(60):
        words = dice.choices(_PIECES, k=dice.randint(1, 9))
        gaps = dice.choices(["", " ", "  ", "   ", "\t", " \t "], weights=[1, 12, 4, 2, 1, 1], k=len(words))
        lead = dice.choice(["", "", "08:50 ", "08:50\t", "  ", "2026-03-02 09:00  "])
        lines.append((lead + "".join(map("".join, zip(words, gaps, strict=True)))).encode())
    for ending in ("site", "sheet", "kit"):
        holds(b"\n".join(lines), f"random.{ending}")


@pytest.mark.parametrize("seed", range(25))
def test_sloppy_logs_say_the_same(seed):
    """Good lines of the corpus with other blanks and another order, some of them above a signature."""
    dice = random.Random(seed)
    logs = [case.text for case in ALL if case.role == "log" and "escapes" not in case.attributes]
    good = [line for text in logs for line in text.split("\n") if line.isprintable()]
    lines = dice.sample([line for line in good if not re.match(r"[<=>|]{7}", line)], 40)
    sloppy = [re.sub(" ", lambda _: dice.choice([" ", " ", "  ", "\t"]), line) for line in lines]
    sloppy.insert(dice.randrange(40), "sign mo installed")
    text = "\n".join(["site yard-1", "day 2026-03-02", *sloppy, ""])
    holds(text.encode(), "sloppy.site")


def test_columns_of_a_log():
    text = """\
site quay-14   "Boat store"
crew mo lead

day 2026-03-02 dry
8:05 use MF1, TW3
09:20 torque bracket-1..3   12.1  12.0 11.9 N.m with TW3 -- by hand
  torque   bracket-4 12NM -- missed   it
10:00 reading insulation dc-pos/earth >999 Mohm at 500V
10:01 note  two  blanks  stay
"""
    assert (
        tidied(text, "a.site")
        == """\
site   quay-14  "Boat store"
crew   mo       lead

day    2026-03-02  dry
8:05   use     MF1, TW3
09:20  torque  bracket-1..3             12.1 12.0 11.9 Nm with TW3   -- by hand
       torque  bracket-4                12 Nm                        -- missed   it
10:00  reading insulation dc-pos/earth  >999 MΩ at 500 V
10:01  note    two  blanks  stay
"""
    )


def test_above_a_signature_the_digest_stays():
    """The digest takes runs of blanks as one, so lining up leaves it; a unit's spelling would not."""
    above = "site a-1\nday 2026-03-02\n08:00 torque   b-1 12NM with TW3-- glued\n"
    above += "08:01  torque b-2  12 N.m   -- x\n"
    text = above + "08:05 sign mo installed\n08:10 torque b-3 12 N.m with TW3\n"
    once = tidied(text, "a.site").split("\n")
    own = "08:05 sign mo installed"
    assert digest_of(once[:4], once[4], SignedFiles()) == digest_of(above.split("\n"), own, SignedFiles())
    assert once[:4] != above.split("\n")[:4]
    assert "12NM" in once[2]
    assert "TW3-- glued" in once[2]
    assert once[5].split() == ["08:10", "torque", "b-3", "12", "Nm", "with", "TW3"]


@pytest.mark.parametrize(
    "line",
    [
        "torque bracket-1..2 12 nm",  # nanometres
        "torqe bracket-1   12 Nm",
        "- owner   asked",
        "torque bracket-1..3   12.1 12.0 Nm",  # a value short
    ],
)
def test_what_cannot_be_read_stays_as_it_is(line):
    text = f"site a-1\nday 2026-03-02\n{line}\n"
    assert tidied(text, "a.site").split("\n")[2] == line


def test_a_current_stays_with_its_unit():
    """`Vdc` says more than the unit."""
    text = "site a-1\nday 2026-03-02\nreading voltage a/b 307 Vdc\n"
    assert "307 Vdc" in tidied(text, "a.site")


def test_utf_16_is_left_alone():
    text = "site a-1\ntorque   b-1 12 Nm\n".encode("utf-16").decode("utf-8", "surrogateescape")
    assert tidied(text, "a.site") == text

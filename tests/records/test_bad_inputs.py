"""Inputs that people and machines really send: each is one clear finding, to the word, and nothing raises."""

import pytest

from sitelog.files.records import read_kit, read_log, read_sheet
from sitelog.files.source import from_bytes
from sitelog.findings import Finding


def said(data: bytes | str, file: str = "a.site") -> list[Finding]:
    """What is said of a file."""
    source = from_bytes(data.encode() if isinstance(data, str) else data, file)
    reader = {"log": read_log, "sheet": read_sheet, "kit": read_kit}[source.role]
    return list(reader(source).findings)


LINES = [
    (
        "cable battery/inverter # 8 Cu",
        "comment-ate-size",
        "`# 8` with a blank is a comment, so '# 8 Cu' was not read",
        "was 8 AWG meant? Write `#8` or `8 AWG`",
    ),
    (
        "day 3/2/2026",
        "ambiguous-date",
        "`3/2/2026` can be read in two ways",
        "write 2026-02-03 (3 February) or 2026-03-02 (2 March)",
    ),
    (
        "3/2/2026 did delivery",
        "ambiguous-date",
        "`3/2/2026` can be read in two ways",
        "write 2026-02-03 (3 February) or 2026-03-02 (2 March)",
    ),
    (
        "torque bracket-1..6 12.1 12.0 11.9 12.2 12.0 Nm",
        "wrong-count",
        "six places, but five values",
        "write `___` for a place that has none yet; one value alone stands for all",
    ),
    (
        "rd insulation dc-pos/earth 999 Mohm",
        "unknown-kind",
        "`rd` is no kind of entry",
        "did you mean `reading`?",
    ),
    ("torqe bracket-1 12 Nm", "unknown-kind", "`torqe` is no kind of entry", "did you mean `torque`?"),
    ("torque bracket-1 12 Nmm", "unknown-unit", "Nmm is no unit known here", "was Nm meant?"),
    ("torque bracket-1 12 nm", "unit-case", "nm is nanometre", "Nm is newton metre"),
    ("torque bracket-1 12 J", "unit-kind", "torque wants Nm or in-lb, not J", "a torque is written in Nm"),
    (
        "torque bracket-1 12",
        "no-unit",
        "12 has no unit",
        "a torque (Nm, in-lb) wants its unit",
    ),
    (
        "day 2026-02-30",
        "bad-date",
        "2026-02-30 is not in the calendar",
        "a date is 2026-03-02: year, month, day",
    ),
    (
        "25:10 did delivery",
        "bad-time",
        "`25:10` is not a time of day",
        "the last of a day is 23:59:59",
    ),
    ("0930 did delivery", "bad-time", "`0930` is not a time of day", "write 09:30"),
    ("9.3 did delivery", "bad-time", "`9.3` is not a time of day", "write 09:03 or 09:30"),
    ("loosed bracket-6..1", "bad-range", "`bracket-6..1` runs backwards", "write bracket-1..6"),
    (
        "loosed bracket-1..1000000",
        "range-too-long",
        "`bracket-1..1000000` has 1000000 places; the most is 10000",
        "",
    ),
    (
        "torque bracket 1 to 8 12 Nm",
        "bad-range",
        "a range of places is written with two dots: bracket-1..8",
        "write bracket-1..8",
    ),
    (
        "torque bracket-1 to bracket-8 12 Nm",
        "bad-range",
        "a range of places is written with two dots: bracket-1..8",
        "write bracket-1..8",
    ),
    (
        "torque bracket-1 12 Nm tight",
        "text-after-value",
        "nothing more can stand here: `tight`",
        "words behind a complete entry stand in its remark: ` -- tight`",
    ),
    (
        'photo "IMG 2041.jpg of D1',
        "stray-quote",
        "a quotation mark without its partner",
        'close the text with `"`',
    ),
    (
        "photo IMG 2041.jpg of D1",
        "text-after-value",
        "a file name with blanks stands in quotes",
        'photo "IMG 2041.jpg" of D1',
    ),
    ("- breaker on", "begins-with-dash", "a line begins with a dash", "put it on its own line as `note …`"),
    (
        "torque bracket-1 1,000 Nm",
        "thousands-separator",
        "1,000 can be read as 1000 or 1.000",
        "write 1000 or 1.000",
    ),
    (
        "torque bracket-1 1O.5 Nm",
        "bad-number",
        "`1O.5` is no number",
        "digits with one point, then a blank and the unit; 0 and 1 are not the letters O and l",
    ),
    (
        "swap module-B QX1 --> QX2",
        "unreadable",
        "`-->` was read as the start of the remark",
        "write the arrow as ->",
    ),
    (
        "joint bracket-1 12 Nm +-10 %",
        "wrong-file",
        "`joint` belongs in a sheet, and this is a log",
        "in a log, write `torque`",
    ),
    (
        "set wifi-password inverter hunter2",
        "password",
        "passwords have no place in a log",
        "delete the line, and change the password",
    ),
    ("torque: bracket-1 12 Nm", "unreadable", "no colon stands behind `torque`", "a blank is enough"),
    (
        "torque bracket-1 -- 12 Nm",
        "unreadable",
        "the remark begins too early: a value with its unit, `pre` or `click` is missing",
        "for example: torque bracket-1..4 12.1 12.0 11.9 12.2 Nm with TW3",
    ),
    (
        "zone Europe/Atlantis",
        "bad-name",
        "`Europe/Atlantis` is no time zone",
        "a zone is a name such as Europe/Lisbon",
    ),
    (
        "visit instal",
        "unreadable",
        "`instal` is no sort of visit",
        "write `visit install`, `visit service` or `visit removal`",
    ),
]


@pytest.mark.parametrize(("line", "slug", "message", "help"), LINES, ids=[line[0] for line in LINES])
def test_line(line: str, slug: str, message: str, help: str) -> None:
    """One finding, in line 2, that says what is wrong and, where it can, what to write."""
    (one,) = said(f"site yard-1\n{line}\ndid delivery\n")
    assert (one.line, one.slug, one.message, one.help, one.text) == (2, slug, message, help, line)


def test_both_readings_of_a_date_are_dates() -> None:
    """No day is offered that the calendar does not have."""
    (one,) = said("site yard-1\nday 31/2/2026\n")
    assert (one.slug, one.help) == ("bad-date", "a date is 2026-03-02: year, month, day")
    (one,) = said("site yard-1\nday 13/2/2026\n")
    assert (one.slug, one.help) == ("bad-date", "write 2026-02-13 (13 February)")


def test_two_sites() -> None:
    """The second is named, and the line of the first."""
    (one,) = said("site yard-1\ndid a-1\nsite yard-2\n")
    assert (one.line, one.slug) == (3, "two-sites")
    assert one.message == "a second site in one log: it is about `yard-1` since line 1"


def test_no_site() -> None:
    """Said at the first entry; not again where a site line could not be read."""
    (one,) = said("# pencil\n\ndid delivery\n")
    assert (one.line, one.slug, one.help) == (3, "no-site", "begin it with `site NAME`")
    assert [one.slug for one in said("site\ndid delivery\n")] == ["unreadable"]
    assert [one.slug for one in said("# nothing yet\n")] == ["no-site"]


def test_empty_file() -> None:
    """Said once, whatever sort of file it is."""
    for file in ("a.site", "a.sheet", "a.kit"):
        assert [one.slug for one in said("", file)] == ["empty-file"]
        assert [one.slug for one in said("\n \n", file)] == ["empty-file"]


def test_bytes_that_are_no_text() -> None:
    """The byte is named, and the rest of the line is read."""
    (one,) = said(b"site yard-1\ntorque bracket-1 12 Nm -- f\xfcr mo\n")
    assert (one.line, one.column, one.end_column, one.slug) == (2, 28, 29, "not-utf8")
    assert one.message == "not UTF-8 text: byte FC"


def test_nul() -> None:
    """A NUL in a remark costs nothing but a finding; in a name the line cannot be read."""
    (one,) = said("site yard-1\nnote tea\0\n")
    assert (one.line, one.column, one.slug, one.message) == (
        2,
        9,
        "control-character",
        "control character U+0000",
    )
    both = said("site yard-1\ntorque bracket-1\0 12 Nm\n")
    assert [(one.line, one.column) for one in both] == [(2, 17), (2, 17)]
    assert all(one.message.isprintable() and one.help.isprintable() for one in both)


def test_ten_megabytes_in_one_line() -> None:
    """Not read, said so, and the lines around it are."""
    log = read_log(from_bytes(b"site yard-1\nnote " + b"x" * 10_000_000 + b"\ndid delivery\n", "a.site"))
    (one,) = log.findings
    assert (one.line, one.slug) == (2, "line-too-long")
    assert len(one.text) < 100
    assert [line.entry.kind for line in log.lines] == ["site", "did"]


def test_a_unit_wrong_or_missing_is_said_once() -> None:
    """One unit stands behind a list of values, so it is one mistake and not eight."""
    for unit in ("nm", "", "V", "Nmm"):
        (one,) = said(f"site yard-1\ntorque bracket-1..8 12 12 12 12 12 12 12 12 {unit}\n")
        assert one.line == 2


def test_every_line_is_judged_for_itself() -> None:
    """A hundred bad lines are a hundred findings, and the good ones between them are read."""
    log = read_log(from_bytes(("site yard-1\n" + "torqe a-1 12 Nm\ndid a-1\n" * 100).encode(), "a.site"))
    assert [one.line for one in log.findings] == list(range(2, 202, 2))
    assert sum(line.record is not None for line in log.lines) == 101


def test_messages_end_without_a_stop_and_name_no_grammar() -> None:
    """What people read has no names of terminals in it."""
    for line, _, message, help in LINES:
        assert not message.endswith("."), line
        assert not any(word in message + help for word in ("KIND_", "NUMWORD", "TOKEN", "$END", "LALR")), line

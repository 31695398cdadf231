"""What a file's bytes become: lines, positions, and a finding for everything that is damaged."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitelog.files.source import LONGEST_LINE, from_bytes, role_of


def where(source, slug):
    return [(one.line, one.column, one.end_column) for one in source.findings if one.slug == slug]


@pytest.mark.parametrize(
    ("data", "lines"),
    [
        (b"a\nb\n", ("a", "b")),
        (b"a\nb", ("a", "b")),
        (b"a\r\nb\r\n", ("a", "b")),
        (b"a\n\n\nb\n", ("a", "", "", "b")),
        (b"a\nb\r", ("a", "b")),
        (b"\xef\xbb\xbfsite x\n", ("site x",)),
        # Characters at which str.splitlines() would break a line, and a log must not
        # (Python Standard Library, str.splitlines, table of line boundaries).
        ("a\u2028b\u2029c\n".encode(), ("a\u2028b\u2029c",)),
        ("a\x0bb\x0cc\x85d\n".encode(), ("a\x0bb\x0cc\x85d",)),
    ],
)
def test_line_ends(data, lines):
    assert from_bytes(data, "a.site").lines == lines


@pytest.mark.parametrize(
    ("bad", "length"),
    [
        (b"\xb0", 1),  # a degree sign as ISO 8859-1 writes it
        (b"\xc0\x80", 2),  # RFC 3629 section 3: C0 and C1 never appear (overlong forms)
        (b"\xed\xa0\x80", 3),  # RFC 3629 section 3: surrogates D800 to DFFF are prohibited
        (b"\xf4\x90\x80\x80", 4),  # RFC 3629 section 3: nothing above U+10FFFF
        (b"\xe2\x82", 2),  # the euro sign of RFC 3629 section 3 without its last byte
    ],
)
def test_bad_utf8_has_its_place_and_the_rest_is_read(bad, length):
    data = b"day 2026-03-02\nnote 11 " + bad + "C, dry\nnote Ω\n".encode()
    source = from_bytes(data, "a.site")
    assert source.lines == ("day 2026-03-02", "note 11 " + "\ufffd" * length + "C, dry", "note Ω")
    assert where(source, "not-utf8") == [(2, 9, 9 + length)]
    assert source.skip == frozenset()
    assert source.findings[0].text == source.lines[1]


def test_columns_count_characters_not_bytes():
    source = from_bytes("note µΩ°".encode() + b"\xff\n", "a.site")
    assert where(source, "not-utf8") == [(1, 9, 10)]


def test_utf16_is_named_and_read_all_the_same():
    for encoding in ("utf-16-le", "utf-16-be"):
        source = from_bytes("\ufeffsite hill-9\r\nnote 12 °C\r\n".encode(encoding), "a.txt")
        assert source.lines == ("site hill-9", "note 12 °C")
        assert source.role == "log"
        assert [one.slug for one in source.findings] == ["not-utf8"]


def test_a_binary_file_makes_few_findings_and_says_that_there_are_more():
    source = from_bytes(bytes(range(128, 256)) * 50 + b"\n" + b"\x00a" * 5000, "a.site")
    for slug in ("not-utf8", "control-character"):
        of_slug = [one for one in source.findings if one.slug == slug]
        assert 0 < len(of_slug) <= 50
    assert any("more in this file" in one.message for one in source.findings)


def test_control_characters():
    source = from_bytes(b"note a\x00b\nnote\tok\nnote \x1b[2J\nnote \x7f\nnote a\rb\n", "a.site")
    assert where(source, "control-character") == [(1, 7, 8), (3, 6, 7), (4, 6, 7), (5, 7, 8)]
    assert source.skip == frozenset()
    assert "carriage return" in source.findings[-1].message


@pytest.mark.parametrize("start", ["scan", "08:14 scan", "8:14 am SCAN", "2026-03-02 08:14:09 scan"])
def test_separators_of_barcode_readers_stay_in_a_scan(start):
    # ISO/IEC 15434: message header [)> RS, group separator GS, trailer RS EOT.
    line = f"{start} module-A [)>\x1e06\x1dST5-0001\x1e\x04"
    source = from_bytes(line.encode() + b"\n", "a.site")
    assert source.lines == (line,)
    assert source.findings == ()


def test_separators_elsewhere_are_control_characters():
    assert where(from_bytes(b"note a\x1db\nscan p a\x00\n", "a.site"), "control-character") == [
        (1, 7, 8),
        (2, 9, 10),
    ]


def test_a_line_too_long_is_kept_and_not_parsed():
    long = "x" * (LONGEST_LINE + 1)
    source = from_bytes(f"site a\nnote {long}\nnote b\nnote {'y' * (LONGEST_LINE - 5)}\n".encode(), "a.site")
    assert source.skip == {2}
    assert len(source.lines[1]) == LONGEST_LINE + 6
    assert [one.slug for one in source.findings] == ["line-too-long"]
    assert len(source.findings[0].text) < 100


def test_a_huge_line_is_one_finding():
    source = from_bytes(b"a" * 30_000_000 + b"\nnote b\n", "a.site")
    assert source.skip == {1}
    assert source.lines[1] == "note b"
    assert len(source.findings) == 1


CONFLICT = """\
site a
<<<<<<< ours
note one
||||||| base
note none
=======
note two
>>>>>>> theirs
note after
"""


def test_merge_conflict_is_one_finding_and_what_follows_is_read():
    # Markers are seven characters: gitattributes(5), conflict-marker-size.
    source = from_bytes(CONFLICT.encode(), "a.site")
    assert where(source, "merge-conflict") == [(2, 1, 8)]
    assert source.skip == {2, 3, 4, 5, 6, 7, 8}
    twice = from_bytes((CONFLICT + CONFLICT).encode(), "a.site")
    assert where(twice, "merge-conflict") == [(2, 1, 8), (11, 1, 8)]


@pytest.mark.parametrize("marker", ["<<<<<<< ours", "=======", ">>>>>>> theirs", "||||||| base"])
def test_a_marker_without_partner_hides_only_itself(marker):
    source = from_bytes(f"site a\n{marker}\nnote b\n".encode(), "a.site")
    assert source.skip == {2}
    assert where(source, "merge-conflict") == [(2, 1, 8)]


def test_an_unclosed_conflict_does_not_swallow_the_next_one():
    text = "<<<<<<< a\nnote 1\n<<<<<<< b\nnote 2\n=======\nnote 3\n>>>>>>> c\n"
    source = from_bytes(text.encode(), "a.site")
    assert source.skip == {1, 3, 4, 5, 6, 7}
    assert len(source.findings) == 2


@pytest.mark.parametrize("text", ["========", "a =======", "<<<<<<<x", "note <<<<<<< a"])
def test_what_only_looks_like_a_marker(text):
    assert from_bytes(f"{text}\n".encode(), "a.site").findings == ()


@pytest.mark.parametrize("data", [b"", b"\n\n", b"  \t \r\n", b"\xef\xbb\xbf", b"\xef\xbb\xbf\n"])
def test_empty_file(data):
    assert [one.slug for one in from_bytes(data, "a.site").findings] == ["empty-file"]


@pytest.mark.parametrize(
    ("path", "role"),
    [
        ("a.site", "log"),
        ("b/a.SHEET", "sheet"),
        ("a.kit.txt", "kit"),
        ("a.site.TXT", "log"),
        ("a.txt", ""),
        ("site", ""),
        ("a.site.bak", ""),
    ],
)
def test_the_ending_tells_the_role(path, role):
    assert role_of(path) == role


@pytest.mark.parametrize(
    ("text", "role"),
    [
        ("site a", "log"),
        ("\ufeff# a kit\n\n  KIT. van\n", "kit"),
        ("\u00a0sheet x\n", "sheet"),
        ("day 2026-03-02\nsite a\n", ""),
        ("", ""),
    ],
)
def test_without_an_ending_the_first_entry_tells_the_role(text, role):
    assert from_bytes(text.encode(), "notes.txt").role == role


def test_the_ending_outranks_the_first_entry_and_the_caller_outranks_both():
    assert from_bytes(b"kit a\n", "a.site").role == "log"
    assert from_bytes(b"kit a\n", "a.site", "sheet").role == "sheet"


@given(st.binary(max_size=400))
def test_any_bytes_make_lines_and_every_finding_has_a_real_place(data):
    source = from_bytes(data, "a.site")
    for one in source.findings:
        assert 1 <= one.line <= max(1, len(source.lines))
        assert 1 <= one.column <= one.end_column
    assert all("\n" not in line for line in source.lines)
    assert all(1 <= number <= len(source.lines) for number in source.skip)


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1))
def test_good_text_comes_out_as_it_went_in(text):
    text = text.lstrip("\ufeff")
    assert "\n".join(from_bytes(text.encode(), "a.site").lines) == text

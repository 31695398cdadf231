"""Carets, widths, and text from a log that must not reach a terminal raw."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitelog.base.text import printable
from sitelog.findings.finding import Finding
from sitelog.views.findings import display_width, finding_text, summary_text
from tests.cli.fakes import Site


def shown(text, column, end_column):
    finding = Finding("unreadable", "error", "m", "", "a.site", 1, column, end_column, text)
    _, line, caret = finding_text(finding).splitlines()
    return line[4:], caret[4:]


@pytest.mark.parametrize(
    ("text", "span", "line", "caret"),
    [
        ("torque a 8", (10, 11), "torque a 8", "         ^"),
        ("torque a 8", (1, 7), "torque a 8", "^^^^^^"),
        ("torque a 8", (11, 11), "torque a 8", "          ^"),
        ("torque", (30, 40), "torque", "      ^"),
        ("", (1, 1), None, None),
        # A tab goes on to the next multiple of eight columns (common practice, no source).
        ("\ttorque", (2, 8), "        torque", "        ^^^^^^"),
        ("ab\tc", (3, 5), "ab      c", "  ^^^^^^^"),
        # Unicode Standard Annex 11: ideographs and fullwidth forms are wide, Greek and Latin are not.
        ("壁 ok", (3, 5), "壁 ok", "   ^^"),
        ("Ｎｍ x", (1, 3), "Ｎｍ x", "^^^^"),
        ("5 MΩ x", (3, 5), "5 MΩ x", "  ^^"),
        ("e\u0301 x", (4, 5), "e\u0301 x", "  ^"),
        ("a\x1b[2Jb", (2, 3), "a\\x1b[2Jb", " ^^^^"),
    ],
)
def test_the_caret_stands_under_the_span(text, span, line, caret):
    if line is None:
        finding = Finding("unreadable", "error", "m", "", "a.site", 1, *span, text)
        assert finding_text(finding) == "a.site:1:1: error: m [unreadable]\n"
    else:
        assert shown(text, *span) == (line, caret)


def test_a_long_line_is_cut_to_the_stretch_around_the_span():
    line, caret = shown("x" * 5000 + "HERE" + "y" * 5000, 5001, 5005)
    assert len(line) < 200
    assert line[caret.index("^") : len(caret)] == "HERE"


@given(st.text(st.characters(codec="utf-8"), max_size=300), st.integers(1, 320), st.integers(0, 40))
def test_the_caret_never_fails_and_nothing_raw_is_shown(text, column, length):
    finding = Finding("unreadable", "error", text, text, text, 1, column, column + length, text)
    out = finding_text(finding)
    assert out.replace("\n", "").isascii() or printable(out.replace("\n", "")) == out.replace("\n", "")
    assert len(out.split("\n")) <= 5


# The first is how "Trojan Source" (Boucher and Anderson, 2021) reorders what a reader sees; the next two
# are control functions of ECMA-48.
@pytest.mark.parametrize(
    ("raw", "safe"),
    [
        ("a\u202eb\u2066c", r"a\u202eb\u2066c"),
        ("\x1b]0;title\x07", r"\x1b]0;title\x07"),
        ("\x9b31m", r"\x9b31m"),
        ("a\tb\nc\rd", r"a\tb\x0ac\x0dd"),
        ("\x7f\x85\u2028", r"\x7f\x85\u2028"),
        ("\udcb0", r"\udcb0"),
        ("12 MΩ ±5 % 壁 “x”", "12 MΩ ±5 % 壁 “x”"),
    ],
)
def test_printable(raw, safe):
    assert printable(raw) == safe


def test_summary_is_aligned_whatever_the_names():
    rows = summary_text([Site(), Site(site="壁-2", joints=1234, sheets=()), Site(site="a\x1b")]).splitlines()
    assert len(rows) == 4
    ends = {
        display_width(row[: row.index(" state" if row is rows[0] else "not ready")].rstrip()) for row in rows
    }
    assert len(ends) == 1
    assert summary_text([]) == ""

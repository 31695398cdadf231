"""Answers on the screen and for programs."""

import csv
import io
import json

import pytest

from sitelog.asking.question.result import StoredRow
from sitelog.asking.store.answer import FullAnswer, answer
from sitelog.asking.subjects import SUBJECTS
from sitelog.views.rows import FORMATS, as_csv, as_json, as_lines, as_markdown, as_table, cell_text
from tests.ask.data import TODAY, stored_rows


def _ask(question: str) -> FullAnswer:
    return answer(question, stored_rows(), TODAY)


def test_table() -> None:
    """Numbers to the right, text to the left, nothing for nothing, shares in per cent."""
    found = _ask("joints at quay-14 in bracket-8, bracket-10 show place, value, margin, final, tool")
    assert as_table(found.columns, found.rows).splitlines() == [
        "place       value (Nm)  margin (%)  final  tool",
        "bracket-10                          no",
        "bracket-8          9.8       -42.0  yes    TW5",
    ]


@pytest.mark.parametrize(
    ("name", "share", "shown"),
    [
        ("probability", 0.99997, ">99.9 %"),
        ("probability", 0.99949, "99.9 %"),
        ("probability", 0.00002, "<0.1 %"),
        ("probability", 0.5, "50.0 %"),
        ("margin", 1.0, "100.0 %"),
        ("margin", 0.0, "0.0 %"),
    ],
)
def test_no_probability_is_rounded_to_certainty(name: str, share: float, shown: str) -> None:
    """A margin may be the whole tolerance; a measured value is never certain to lie within it."""
    (column,) = _ask(f"joints at quay-14 show {name}").columns
    assert cell_text(column, share) == shown


def test_no_rows_no_table() -> None:
    """Nothing is said on stdout; JSON is still a list, CSV still has its header."""
    found = _ask("joints at quay-14 over torque show place, value")
    assert as_table(found.columns, found.rows) == as_markdown(found.columns, found.rows) == ""
    assert as_json(found.columns, found.rows) == "[]\n"
    assert as_csv(found.columns, found.rows) == "place,value,value_unit\r\n"


def test_lines_are_those_of_the_file_once_each() -> None:
    """A line that holds four joints is one line."""
    found = _ask("joints at quay-14 in bracket-1..4, bracket-8")
    assert as_lines(found.columns, found.rows).splitlines() == [
        "quay-14.site:19: 09:20 torque bracket-1..4 12.1 12.0 11.9 12.0 Nm",
        "quay-14.site:21: 09:24 torque bracket-8 9.8 Nm by jp with TW5",
    ]


def test_json() -> None:
    """Keys as the fields, in order; quantities as written; a bound; null; a fraction; true."""
    found = _ask("readings insulation at quay-14 show points, value, margin, previous, day")
    objects = json.loads(as_json(found.columns, found.rows))
    assert objects[0] == {
        "points": "dc-pos/earth",
        "value": {"value": 999, "unit": "MΩ", "bound": ">"},
        "margin": None,
        "previous": None,
        "day": "2026-03-02",
    }
    assert list(objects[0]) == ["points", "value", "margin", "previous", "day"]
    found = _ask("joints in bracket-8 show value in in-lb, margin, final")
    (one,) = json.loads(as_json(found.columns, found.rows))
    # 9.8 N m / 0.112984829 N m per in-lb (NIST SP 811, 2008, appendix B.9)
    assert one == {
        "value": {"value": pytest.approx(86.7373, abs=1e-4), "unit": "in-lb"},
        "margin": -0.42,
        "final": True,
    }


def test_a_least_value_is_written_as_it_was_read() -> None:
    """With its unit and its bound, in JSON and in CSV; in another unit where one is asked for."""
    found = _ask("greatest value of readings insulation at quay-14")
    (one,) = json.loads(as_json(found.columns, found.rows))
    assert one == {"value": {"value": 999, "unit": "MΩ", "bound": ">"}}
    assert as_csv(found.columns, found.rows) == "value,value_unit\r\n>999,MΩ\r\n"
    found = _ask("greatest value of readings insulation at quay-14 show value in kohm")
    assert as_csv(found.columns, found.rows) == "value,value_unit\r\n>999000,kΩ\r\n"


def test_csv_reads_back() -> None:
    """A quantity is a number and a unit."""
    found = _ask("readings insulation show points, value, verdict sort value down first 1")
    (head, cells) = csv.reader(io.StringIO(as_csv(found.columns, found.rows)))
    assert dict(zip(head, cells, strict=True)) == {
        "points": "dc-pos/earth", "value": ">999", "value_unit": "MΩ", "verdict": "pass",
    }  # fmt: skip


class _Plain:
    name, type, unit, aside = "remark", "text", "", False


HOSTILE = "\x1b[31mred\x07 <script>|`*x*` [a](b)\u202e"


@pytest.mark.parametrize("name", ["table", "lines", "markdown"])
def test_nothing_from_a_log_commands_a_terminal(name: str) -> None:
    """Control characters are shown, not sent."""
    text = FORMATS[name]([_Plain()], [StoredRow("a.site", 1, HOSTILE, (HOSTILE,))])
    assert r"\x1b[31mred\x07".replace("\\", "") in text.replace("\\", "")
    assert not {"\x1b", "\x07", "\u202e"} & set(text)


def test_markdown_is_no_markup() -> None:
    """Bars, angle brackets and stars of a log stay characters."""
    text = as_markdown([_Plain()], [StoredRow("a.site", 1, "", ("<b>|*x*|</b>",))])
    assert text.splitlines()[-1] == r"| \<b\>\|\*x\*\|\</b\> |"


def test_json_holds_any_text() -> None:
    """What JSON cannot hold raw is escaped (RFC 8259, section 7)."""
    (one,) = json.loads(as_json([_Plain()], [StoredRow("a.site", 1, "", (HOSTILE,))]))
    assert one == {"remark": HOSTILE}


def test_a_program_gets_every_field_and_a_table_the_first() -> None:
    found = _ask("joints at barn-3 first 1")
    (one,) = json.loads(as_json(found.columns, found.rows))
    named = [column.name for column in SUBJECTS["joints"].all_columns if not column.hidden]
    assert sorted(one) == sorted(named)
    head = as_table(found.columns, found.rows).splitlines()[0]
    assert "margin" not in head
    assert "place" in head

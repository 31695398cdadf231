"""Tables for people: decimal points under each other, units in the head, as wide as the terminal."""

from hypothesis import given
from hypothesis import strategies as st

from sitelog.asking.question.result import StoredRow
from sitelog.notation.quantities import read_quantity
from sitelog.views.rows import as_csv, as_table, harmless
from sitelog.views.table import TableColumn, lined_up, table_text


class _Head:
    def __init__(self, name: str, type_: str = "text", unit: str = "") -> None:
        self.name, self.type, self.unit, self.aside = name, type_, unit, False


def _quantities(*written: str) -> list[StoredRow]:
    found = []
    for text in written:
        number, unit = text.lstrip("<>").split()
        quantity, _ = read_quantity(number, unit, text[0] if text[0] in "<>" else "")
        found.append(StoredRow("", 0, "", (quantity,)))
    return found


def test_one_unit_stands_in_the_head() -> None:
    """And the numbers stand by their points."""
    table = as_table([_Head("value", "quantity")], _quantities("9.8 Nm", "106 Nm", "12.125 Nm"))
    assert table.splitlines() == [
        "value (Nm)",
        "     9.8",
        "   106",
        "    12.125",
    ]


def test_several_units_stand_in_the_cells() -> None:
    """Numbers by their points, units by their first letter."""
    table = as_table([_Head("value", "quantity")], _quantities("9.8 Nm", "106 in-lb", "35 in-lb"))
    assert table.splitlines() == [
        "      value",
        "  9.8 Nm",
        "106   in-lb",
        " 35   in-lb",
    ]


def test_a_bound_stays_with_its_number() -> None:
    """`>999` ends where 999 ends."""
    table = as_table([_Head("value", "quantity")], _quantities(">999 MΩ", "1.5 MΩ"))
    assert table.splitlines() == ["value (MΩ)", "    >999", "       1.5"]


def test_shares_have_their_sign_in_the_head() -> None:
    """45.8 % and -9.4 %."""
    rows = [StoredRow("", 0, "", (0.458,)), StoredRow("", 0, "", (None,)), StoredRow("", 0, "", (-0.094,))]
    lines = as_table([_Head("margin", "ratio")], rows).splitlines()
    assert lines == ["margin (%)", "      45.8", "", "      -9.4"]


def test_long_text_is_wrapped_to_the_terminal() -> None:
    """At blanks; a word too long is broken; other columns keep their width."""
    text = "the gas pipe is in the way of the route, ask the owner before anything is drilled " + "x" * 50
    columns = [
        TableColumn("site", ["quay-14", "barn-3"], numeric=False),
        TableColumn("value", ["9.8 Nm", "12 Nm"], numeric=True),
        TableColumn("remark", [text, "short"], numeric=False),
    ]
    lines = table_text(columns, 60).splitlines()
    assert max(map(len, lines)) <= 60
    assert table_text(columns, 45).splitlines()[:3] == [
        "site     value (Nm)",
        "quay-14         9.8",
        "    remark: the gas pipe is in the way of the",
    ]
    assert lines[0] == "site     value (Nm)  remark"
    assert lines[1].startswith("quay-14         9.8  the gas pipe is in the way of the")
    assert lines[-1] == "barn-3         12    short"
    written = "".join(line[21:] for line in lines[1:-1]).replace(" ", "")
    assert written == text.replace(" ", "")


def test_without_a_width_nothing_is_wrapped() -> None:
    """In a pipe each row is a line."""
    assert len(as_table([_Head("remark")], [StoredRow("", 0, "", ("word " * 100,))]).splitlines()) == 2


@given(st.lists(st.text("abc xyz-", max_size=30), min_size=1, max_size=5), st.integers(30, 120))
def test_nothing_is_lost_by_wrapping(cells: list[str], width: int) -> None:
    """All words are there, and no line is too wide."""
    text = table_text(
        [TableColumn("one", cells, numeric=False), TableColumn("two", cells, numeric=False)], width
    )
    assert all(len(line) <= width for line in text.splitlines())
    letters = sorted("".join(cells).replace(" ", "") * 2 + "onetwo")
    assert sorted(text.replace(" ", "").replace("\n", "")) == letters


@given(st.text("abc xyz-.", min_size=31, max_size=400), st.integers(20, 90))
def test_long_text_is_all_there(text: str, width: int) -> None:
    """In its column or under its row, in one piece."""
    columns = [TableColumn("site", ["quay-14"], numeric=False), TableColumn("remark", [text], numeric=False)]
    shown = table_text(columns, width)
    assert all(len(line) <= width for line in shown.splitlines())
    assert text.replace(" ", "") in shown.replace(" ", "").replace("\n", "").replace("quay-14", "")


@given(st.lists(st.decimals(-999, 999, allow_nan=False, places=2), min_size=1))
def test_decimal_points_are_lined_up(numbers: list[object]) -> None:
    """The point, or the end of a whole number, is equally far from the end everywhere."""
    cells = lined_up([f"{number} Nm" for number in numbers])
    assert len({len(cell) - cell.index(".") for cell in cells}) == 1


def test_csv_runs_nothing() -> None:
    """What a spreadsheet takes for a formula is marked as text (OWASP, CSV Injection); numbers stay."""
    hostile = ["=1+1", "+1+1", "-2+3", "@SUM(A1)", "\tx", "\rx", "\nx", "-", '=HYPERLINK("http://a")']
    assert [harmless(text) for text in hostile] == [f"'{text}" for text in hostile]
    innocent = ["-12", "+3.5", "-1e5", "bracket-1", "a=b", "", "'quoted"]
    assert [harmless(text) for text in innocent] == innocent
    rows = [StoredRow("", 0, "", (text,)) for text in ("=cmd|' /C x'!A0", "plain, with comma")]
    assert as_csv([_Head("remark")], rows) == "remark\r\n'=cmd|' /C x'!A0\r\n\"plain, with comma\"\r\n"


def test_quantities_of_csv_are_numbers() -> None:
    """A negative one too."""
    assert as_csv([_Head("value", "quantity")], _quantities("-5 degC")) == "value,value_unit\r\n-5,degC\r\n"

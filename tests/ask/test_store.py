"""The store: what goes in comes out, and what SQL is lent."""

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitelog.asking.store import StatementError, Store
from sitelog.asking.store.functions import Greatest, Least, Median, MostFrequent, natural_order
from sitelog.asking.subjects import SUBJECTS, Column, Subject
from tests.ask.data import quantity, row, stored_rows


def test_a_quantity_is_stored_with_all_its_parts() -> None:
    """Base unit, number as written, unit, bound, kind."""
    subject = SUBJECTS["readings"]
    with Store({"readings": subject}) as store:
        store.add(
            "readings", [row(subject, what="insulation", value=">999 MΩ"), row(subject, what="insulation")]
        )
        sql = 'SELECT value, value_number, value_unit, value_bound, value_kind FROM "readings"'
        assert list(store.select(sql)) == [(999e6, "999", "MΩ", ">", "resistance"), (None,) * 5]
        assert store.kinds("readings", "value", "INSULATION") == {"resistance"}
        assert store.kinds("readings", "value", "voltage") == frozenset()


def test_names_come_from_every_subject() -> None:
    """A tool that nobody has used yet is known from the kit."""
    with Store() as store:
        for subject, rows in stored_rows().items():
            store.add(subject, rows)
        assert store.names("tool") == {"TW3", "TW5", "MF1"}
        assert store.names("site") == {"quay-14", "quay-15", "barn-3"}


@pytest.mark.parametrize("name", ["a b", 'x"', "select;", "Größe", ""])
def test_names_that_are_no_identifiers_are_refused(name: str) -> None:
    """Identifiers come from the registry; a bad one is a mistake of the registry."""
    with pytest.raises(ValueError, match="is no name"):
        Store({"things": Subject("things", (Column(name, "text", ""),), ())})


def test_columns_of_one_name_are_refused() -> None:
    """`value_unit` beside a quantity `value` would hide one of them."""
    columns = (Column("value", "quantity", ""), Column("value_unit", "text", ""))
    with pytest.raises(ValueError, match="two columns"):
        Store({"things": Subject("things", columns, ())})


def test_a_store_can_be_a_file(tmp_path) -> None:
    """What one process stores another can read."""
    path = str(tmp_path / "rows.db")
    with Store({"tools": SUBJECTS["tools"]}, path) as store:
        store.add("tools", [row(SUBJECTS["tools"], tool="TW3")])
        assert list(store.select("SELECT tool FROM tools")) == [("TW3",)]
    assert (tmp_path / "rows.db").stat().st_size > 0


@pytest.mark.parametrize(
    ("before", "behind"),
    [
        ("bracket-2", "bracket-10"),
        ("2.3.9", "2.3.12"),
        ("4.9", "4.10"),
        ("QX2607-00418", "QX2607-00450"),
        ("", "a"),
        ("a", "a-1"),
    ],
)
def test_natural_order(before: str, behind: str) -> None:
    """Numbers within text count by size (versions by field: Semantic Versioning 2.0.0, clause 11)."""
    assert natural_order(before, behind) == -1
    assert natural_order(behind, before) == 1
    assert natural_order(before, before) == 0


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=9))
def test_median_is_that_of_the_standard_library(values: list[float]) -> None:
    """Against statistics.median."""
    median = Median()
    for value in [*values, None]:
        median.step(value)
    assert median.finalize() == pytest.approx(statistics.median(values))


@pytest.mark.parametrize(
    "sql",
    [
        "DROP TABLE joints",
        "DELETE FROM joints",
        "UPDATE joints SET site = 'x'",
        "INSERT INTO joints (site) VALUES ('x')",
        "ATTACH '/dev/null' AS other",
        "PRAGMA writable_schema = 1",
        "CREATE TABLE t (a)",
        "SELECT load_extension('x')",
        "SELECT 1; DROP TABLE joints",
        "SELECT nothing FROM joints",
        "sel",
    ],
)
def test_own_sql_can_only_read(sql: str) -> None:
    """Everything but reading is refused, and what is stored stays."""
    with Store() as store:
        store.add("joints", stored_rows()["joints"])
        with pytest.raises(StatementError):
            store.read(sql)
        names, rows = store.read("SELECT count(*) AS joints, max(value) FROM joints WHERE site = 'quay-14'")
        assert (names, rows) == (("joints", "max(value)"), [(8, 12.1)])


def test_own_sql_has_the_functions() -> None:
    """Natural order, folded case and the median are there for people too."""
    with Store() as store:
        store.add("torques", stored_rows()["torques"])
        sql = (
            "SELECT fold(by), median(value) FROM torques WHERE tool = 'TW5'"
            " GROUP BY by ORDER BY by COLLATE natural_order"
        )
        assert store.read(sql)[1] == [("jp", 9.8), ("mo", 10.4)]


def test_median_of_nothing() -> None:
    """No values, no median."""
    assert Median().finalize() is None
    assert quantity("12 Nm").kind == "torque"


def test_own_sql_ends_in_time() -> None:
    """Once the clock says so; the store is whole afterwards."""
    endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT count(*) FROM n"
    with Store() as store:
        with pytest.raises(StatementError, match="too long"):
            store.read(endless, is_late=lambda: True)
        store.add("torques", stored_rows()["torques"])
        assert store.read("SELECT count(*) FROM torques")[1] == [(len(stored_rows()["torques"]),)]


def test_own_sql_gives_no_more_than_anybody_reads(monkeypatch) -> None:
    """Rows and the length of values are limited."""
    monkeypatch.setattr("sitelog.asking.store.store.MOST_ROWS", 3)
    count = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n LIMIT {}) SELECT i FROM n"
    with Store() as store:
        assert len(store.read(count.format(3))[1]) == 3
        with pytest.raises(StatementError, match="more than 3 rows"):
            store.read(count.format(4))
        with pytest.raises(StatementError, match="too big"):
            store.read("SELECT zeroblob(2000000000)")


def test_own_sql_writes_nowhere() -> None:
    """Not even into a table that it made itself."""
    with Store() as store:
        for sql in ("CREATE TEMP TABLE t (a)", "VACUUM", "PRAGMA query_only = OFF", "BEGIN", "ANALYZE"):
            with pytest.raises(StatementError):
                store.read(sql)


@pytest.mark.parametrize(
    ("made", "values", "expected"),
    [
        (Least, [(2.0, "2", "V", ""), (1.0, "1", "V", ">")], "1\x1fV\x1f>"),
        (Least, [(1.0, "1", "V", ">"), (1.0, "1.0", "V", "")], "1.0\x1fV\x1f"),
        (Least, [(1.0, "1", "V", ""), (1.0, "1", "V", "<")], "1\x1fV\x1f<"),
        (Least, [(None, None, None, None)], None),
        (Greatest, [(999e6, "999", "MΩ", ">"), (1e6, "1", "MΩ", "")], "999\x1fMΩ\x1f>"),
        (Greatest, [(1.0, "1", "V", ">"), (1.0, "1", "V", "")], "1\x1fV\x1f>"),
        (Greatest, [(1.0, "1", "V", "<"), (1.0, "1", "V", "")], "1\x1fV\x1f"),
    ],
)
def test_least_and_greatest_as_written(made, values, expected) -> None:
    """A bound counts: nothing over 1 is less than 1."""
    one = made()
    for value in values:
        one.step(*value)
    assert one.finalize() == expected


def test_the_usual_unit() -> None:
    """The one most values have; of two the first in the alphabet."""
    usual = MostFrequent()
    assert usual.finalize() is None
    for unit in ("kΩ", "MΩ", None, "MΩ", "kΩ", "MΩ"):
        usual.step(unit)
    assert usual.finalize() == "MΩ"

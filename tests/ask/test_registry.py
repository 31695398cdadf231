"""A new subject or column needs no change here: everything is asked through the registry."""

from sitelog.asking.question.grammar import openers, spellings
from sitelog.asking.question.states import STATES
from sitelog.asking.store.answer import answer
from sitelog.asking.subjects import COMMON, HISTORIES, MAIN_COLUMNS, SUBJECTS, Column, Subject
from sitelog.fleet.workspace import load, rows
from sitelog.views.fields import fields_text
from sitelog.views.rows import cell_text
from tests.ask.data import TODAY, row
from tests.ask.workspaces import EXAMPLES
from tests.ask.workspaces import TODAY as TODAY_OF_EXAMPLES

CABLES = Subject(
    "cables",
    (
        Column("place", "text", "from where to where"),
        Column("size", "quantity", "its cross-section", "area"),
        Column("current", "quantity", "the current it carries", "current"),
        Column("voltage", "quantity", "the voltage of the system", "voltage"),
        Column("load", "quantity", "the power it is for", "power"),
        Column("work", "quantity", "what went through it", "energy"),
        Column("run", "quantity", "how long", "time"),
        Column("capacity", "quantity", "the current it may carry", "current"),
        Column("drop", "ratio", "voltage lost, as a share"),
    ),
    ("site", "place", "current", "capacity", "drop"),
)
PHOTOS = Subject(
    "photos",
    (Column("photo", "text", "of what"), Column("found", "flag", "1 where the file is there")),
    ("site", "photo", "found"),
)
SUBJECTS_AND_MORE = {**SUBJECTS, "cables": CABLES, "photos": PHOTOS}
ROWS = {
    "cables": [
        row(
            CABLES,
            site="quay-14",
            place="battery/inverter",
            size="6 mm2",
            current="20 A",
            voltage="300 V",
            load="6 kW",
            capacity="43 A",
            drop=0.011,
            work="3 kWh",
            run="30 min",
            verdict="pass",
            file="a.site",
            line=1,
        ),
        row(
            CABLES,
            site="quay-14",
            place="inverter/board",
            size="8 AWG",
            current="36 A",
            voltage="230 V",
            load="8 kW",
            capacity="43 A",
            drop=0.034,
            work="5 kWh",
            run="30 min",
            verdict="pass",
            file="a.site",
            line=2,
        ),
    ],
    "photos": [
        row(PHOTOS, site="quay-14", photo="label-board", found=0, verdict="missing", file="a.site"),
        row(PHOTOS, site="quay-14", photo="wall", found=1, verdict="pass", file="a.site", line=9),
    ],
}


def _ask(question: str) -> list[list[str]]:
    found = answer(question, ROWS, TODAY, SUBJECTS_AND_MORE)
    return [
        [cell_text(*pair) for pair in zip(found.columns, one.cells, strict=True) if not pair[0].aside]
        for one in found.rows
    ]


def test_new_subjects_can_be_asked() -> None:
    """Questions about two subjects that the package does not have."""
    assert _ask("cables where current > 0.8 * capacity show place") == [
        ["inverter/board"]
    ]  # 0.8 x 43 A = 34.4 A
    assert _ask("cables where drop > 3 % show place, drop") == [["inverter/board", "3.4 %"]]
    assert _ask("photos missing at quay-14") == [["quay-14", "label-board", "no"]]
    assert _ask("greatest current of cables per site") == [["quay-14", "36 A"]]
    assert _ask("cables in battery show size") == [["6 mm2"]]


def test_products_are_checked_by_dimension() -> None:
    """V = W/A (SI Brochure, 9th edition, table 4) and 1 h = 3600 s (table 8), so W s is not yet Wh."""
    assert _ask("cables where voltage * current >= load show place") == [
        ["battery/inverter"],
        ["inverter/board"],
    ]
    assert _ask("cables where voltage * current > load show place") == [
        ["inverter/board"]
    ]  # 8280 W; 6 kW is not above
    assert _ask("cables where load * run = work show place") == [["battery/inverter"]]  # 6 kW x 0.5 h = 3 kWh
    assert _ask("cables where work / run > 8 kW show place") == [["inverter/board"]]  # 5 kWh / 0.5 h = 10 kW


def test_a_new_column_can_be_asked() -> None:
    """One more column of joints; 0.2 mm are 0.2 / 0.0254 = 7.874 mil (NIST SP 811, 2008, appendix B.9)."""
    joints = SUBJECTS["joints"]
    wider = joints._replace(
        columns=(*joints.columns, Column("stretch", "quantity", "bolt stretch", "length"))
    )
    stored = {
        "joints": [row(wider, site="quay-14", place="bracket-1", stretch="0.2 mm", verdict="pass", line=3)]
    }
    found = answer("joints where stretch > 150 um show stretch in mil", stored, TODAY, {"joints": wider})
    assert [cell_text(found.columns[0], one.cells[0]) for one in found.rows] == ["7.87 mil"]


def test_fields_lists_every_field_that_can_be_asked() -> None:
    """`--fields` names each column but the hidden ones, with its meaning."""
    for subject in SUBJECTS.values():
        lines = fields_text(subject).split("\n\n")[0].splitlines()
        visible = [column for column in subject.all_columns if not column.hidden]
        assert [line.split()[0] for line in lines] == [column.name for column in visible]
        assert all(column.meaning in line for column, line in zip(visible, lines, strict=True))


def test_what_a_subject_shows_are_its_columns() -> None:
    """The columns shown unasked exist and are not hidden."""
    for subject in SUBJECTS.values():
        assert set(subject.shown) <= {column.name for column in subject.all_columns if not column.hidden}
    assert {column.name for column in COMMON if column.hidden} == {"text", "states", "tool_due", "same"}


def test_every_subject_has_its_states() -> None:
    """All of them words of the grammar; and every word of the grammar for a state is one of some subject."""
    assert set(STATES) == set(SUBJECTS)
    spelt = {one.replace(" ", "-") for one in spellings().values()} | {"under", "over"}
    assert set().union(*STATES.values()) <= spelt
    named = {spellings()[name] for name in openers("state")} - {"out", "not"}
    assert named == set().union(*STATES.values())


def test_histories_have_the_columns_of_what_stands() -> None:
    """And `previous`, of the sort of what it was before."""
    for name, history in HISTORIES.items():
        columns = {column.name: column for column in history.all_columns}
        assert set(columns) == {column.name for column in SUBJECTS[name].all_columns} | {"previous"}
        assert columns["previous"].type == columns[MAIN_COLUMNS[name]].type
        assert set(history.shown) == {*SUBJECTS[name].shown, "previous"}
        assert history.stored == f"{name}_history" != history.name


def test_what_no_clause_of_a_log_can_give_is_no_state_of_it() -> None:
    """Every state that a row of the example logs has can be asked for."""
    found = rows(load(list(EXAMPLES), TODAY_OF_EXAMPLES))
    at = {name: [column.name for column in SUBJECTS[name].all_columns].index("states") for name in found}
    words = {
        name: {word for one in some for word in str(one[at[name]]).split()} for name, some in found.items()
    }
    hidden = {"final", "pre", "held", "moved", "loosed", "click", "unread", "complete", "blocked"}
    left = {name: some - STATES[name] - hidden for name, some in words.items()}
    assert {name: some for name, some in left.items() if some} == {}

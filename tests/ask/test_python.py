"""Asking from Python: rows by name, made as they are asked for, and a table in a notebook."""

import subprocess
import sys
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

import sitelog
from sitelog.notation.quantities.quantity import Quantity
from sitelog.views.rows import as_csv, as_json
from tests.ask.workspaces import EXAMPLES, HAND_TODAY, ask, hand_made, loaded


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> sitelog.Logs:
    """The three logs of tests/ask/hand."""
    return sitelog.load(hand_made(tmp_path_factory.mktemp("hand")), HAND_TODAY)


def test_rows_are_mappings(logs: sitelog.Logs) -> None:
    """Fields by name, as what they are; where they stand; nothing for a field that is none."""
    (joint,) = logs.ask("joints under torque at quay-14 show place, value, day, final, margin, cert, due")
    assert dict(joint) == {
        "place": "bracket-3",
        "value": Quantity(Decimal("9.8"), "Nm", "torque", Decimal("9.8"), "", "9.8 Nm"),
        "day": date(2026, 3, 2),
        "final": True,
        "margin": pytest.approx((9.8 - 10.8) / 2.4),
        "cert": "K-2291",
        "due": None,
    }
    assert (Path(joint.file).name, joint.line) == ("quay-14.site", 11)
    assert joint.text == "09:20 torque bracket-1..3 12.1 12.0 9.8 Nm by jp with TW3"
    with pytest.raises(KeyError):
        joint["valeu"]


def test_rows_are_made_one_by_one(logs: sitelog.Logs) -> None:
    """The first of many is there before the last; all can be gone over again."""
    answer = logs.ask("torques")
    assert answer
    assert len(answer._rows) == 1
    assert next(iter(answer)) is answer[0]
    assert len(answer._rows) == 1
    assert len(answer) == len(list(answer)) == 18
    assert answer[-1]["place"] == answer[17]["place"]
    assert [row["site"] for row in answer[:2]] == ["barn-3", "barn-3"]


def test_one_answer_does_not_disturb_another(logs: sitelog.Logs) -> None:
    """A history is stored while the rows of another answer are still coming."""
    first = iter(logs.ask("torques show place"))
    places = [next(first)["place"]]
    assert len(logs.ask("history looks")) == 1
    assert len(logs.ask("history looks")) == 1
    places += [row["place"] for row in first]
    assert places == [row["place"] for row in logs.ask("torques show place")]


def test_what_stood_then(logs: sitelog.Logs) -> None:
    """A day told from today is told from the real today, once."""
    assert len(logs.ask("sites as of yesterday")) == 3
    assert logs.as_of(date(2026, 3, 1)).today == date(2026, 3, 1)
    assert [site.site for site in logs.as_of(date(2026, 3, 1)).sites] == ["barn-3", "quay-15"]
    assert not logs.ask("defects as of 2026-02-09")
    assert len(logs.ask("defects as of last year")) == 0


def test_findings_and_sites(logs: sitelog.Logs) -> None:
    """What `check` says is there too."""
    assert {site.site: site.joints_under for site in logs.sites} == {"barn-3": 0, "quay-14": 1, "quay-15": 1}
    assert "under-torque" in {finding.slug for finding in logs.findings}
    assert (logs.today, logs.readable) == (HAND_TODAY, True)


def test_a_question_that_means_nothing_is_an_error(logs: sitelog.Logs) -> None:
    """With its columns and what would have worked."""
    with pytest.raises(sitelog.QuestionError) as caught:
        logs.ask("joints undr torque")
    assert (caught.value.column, caught.value.help) == (8, "did you mean `under`?")


@pytest.mark.parametrize(
    "question",
    [
        "readings in dc\u2011pos/earth",
        'readings where points = "dc\u2010pos/earth"',
        'readings where remark has "owner\u2019s"',
        'readings where remark has "owner\'s"',
        'readings where remark = "the owner\u2019s wish"',
        'readings where remark = "The owner\'s wish"',
    ],
)
def test_a_question_finds_what_a_log_wrote_with_look_alikes(question: str, tmp_path: Path) -> None:
    """Whichever of the two typed the curly quote or the no-break hyphen."""
    log = tmp_path / "quay-14.site"
    log.write_text(
        "site quay-14\nvisit install\nday 2026-03-02\n"
        "reading insulation dc\u2011pos/earth >999 M\u2126 at 500 V -- the owner\u2019s wish\n",
        encoding="utf-8",
    )
    (row,) = sitelog.load(log, HAND_TODAY).ask(question)
    assert (row["points"], row["remark"]) == ("dc-pos/earth", "the owner\u2019s wish")


def test_one_path_and_no_path() -> None:
    """A path alone is one path; a folder that is not there is a finding."""
    one = sitelog.load(EXAMPLES[1], date(2026, 11, 25))
    assert [site.site for site in one.sites] == ["hopfield-7"]
    nothing = sitelog.load(Path("no") / "such" / "folder", date(2026, 11, 25))
    assert not nothing.readable
    assert not nothing.ask("joints")


def test_today_is_the_clock_s_where_none_is_given(tmp_path: Path) -> None:
    """Between the day before and the day after, whatever midnight does."""
    before = date.today()
    assert before <= sitelog.load(str(tmp_path)).today <= date.today()


def test_a_notebook_shows_a_table_in_which_nothing_is_markup(tmp_path: Path) -> None:
    """What a log says is text; what stands above every answer and below it stands there too."""
    log = tmp_path / "a-1.site"
    text = "site a-1\nday 2026-03-02\nnote <b>&amp; -- <script>alert(1)</script>\naway <i>locked\n"
    log.write_text(text, encoding="utf-8")
    logs = sitelog.load(str(log), date(2026, 3, 2))
    html = logs.ask("entries where kind = note show entry, remark")._repr_html_()
    assert "<td>&lt;script&gt;alert(1)&lt;/script&gt;</td>" in html
    assert "<td>note &lt;b&gt;&amp;amp; -- &lt;script&gt;" in html
    assert "<p><strong>a-1: left half way since 2026-03-02: &lt;i&gt;locked</strong></p>" in html
    assert "<i>" not in html
    assert "local code" in html.rpartition("</table>")[2]


def test_a_notebook_shows_the_first_of_many() -> None:
    """500 rows, and how many more there are."""
    answer = loaded(EXAMPLES).ask("entries")
    assert len(answer) < 500
    answer._rows = answer._rows * 3
    assert answer._repr_html_().count("<tr>") == 501
    assert f"<p>and {len(answer) - 500} more</p>" in answer._repr_html_()


def test_printed_it_is_the_table(logs: sitelog.Logs) -> None:
    """As on the terminal."""
    assert str(logs.ask("sites away show site")) == "site\nbarn-3\n"


def test_importing_loads_nothing() -> None:
    """Every command imports the package first."""
    told = (
        "import sys; before = set(sys.modules); import sitelog; "
        "print(sorted(name for name in set(sys.modules) - before if name.startswith('sitelog.')"
        " or name in ('sqlite3', 'json', 'datetime', 'dataclasses', 'lark', 'pint')))"
    )
    found = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert found.stdout == "[]\n"


def test_a_value_is_in_the_unit_that_is_asked_for() -> None:
    """`show value in in-lb`: 1 in-lb is 0.1129848 N m (NIST SP 811, 2008, appendix B.8)."""
    question = "joints in clamp-1 at tannery-3 show value in Nm, value in in-lb"
    row = ask(EXAMPLES, question)[0]
    assert list(row) == ["value", "value in in-lb"]
    first, second = row["value"], row["value in in-lb"]
    assert isinstance(first, Quantity)
    assert isinstance(second, Quantity)
    assert (str(first.number), first.unit, second.unit) == ("16.0", "Nm", "in-lb")
    assert float(second.number) == pytest.approx(16.0 / 0.1129848, rel=1e-6)
    assert second.base == first.base


def test_every_format_has_both_units() -> None:
    """No column takes the other's place."""
    answer = ask(EXAMPLES, "joints in clamp-1 at tannery-3 show value in Nm, value in in-lb")
    assert as_csv(answer.columns, list(answer)).splitlines()[0] == (
        "value,value_unit,value in in-lb,value in in-lb_unit"
    )
    assert '"value in in-lb": {"value": 141.6' in as_json(answer.columns, list(answer))

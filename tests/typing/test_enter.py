"""`sitelog enter`: one line added, with its day and time, and its verdict at once."""

import pytest

from sitelog.views.findings import CAUTION, READY
from tests.typing.running import LOG, a_site, run

AT = ("--today", "2026-03-02", "--time", "09:20")
LATER = ("--today", "2026-03-05", "--time", "07:55")


def enter(folder, entry, *more):
    return run(folder, "enter", entry, *(more or AT))


def test_an_entry_gets_its_time_and_its_verdict_and_what_comes_next(tmp_path):
    path = a_site(tmp_path)
    status, out, err = enter(tmp_path, "torque foot-1..3 12.0 9.8 12.1 Nm")
    assert (status, err) == (0, "")
    assert path.read_text(encoding="utf-8") == LOG + "09:20  torque  foot-1..3 12.0 9.8 12.1 Nm\n"
    lines = out.split("\n")
    assert lines[0] == "hill-9.site:9: 09:20  torque  foot-1..3 12.0 9.8 12.1 Nm"
    assert lines[1].startswith("hill-9.site:9:31: error: foot-2 9.8 Nm is below 10.8 Nm")
    assert lines[3] == " " * 34 + "^^^^^^^^^^^^^^^"[: len(lines[3].strip())]
    assert any(line.startswith("joint foot-1, foot-3: pass  (12 Nm +-10 %, guide B; TW3") for line in lines)
    assert any(line.startswith("joint foot-2: under  (") for line in lines)
    assert lines[-3].startswith("next (")
    assert lines[-3].endswith(" still to do): fixing: delivery")
    assert lines[-2] == CAUTION
    assert out.count(CAUTION) == 1


def test_the_caution_of_the_next_item_is_shown_before_it(tmp_path):
    a_site(tmp_path)
    for entry in (
        "did delivery",
        "look wall-sound ok",
        "serial module-A..C TW26-001 TW26-002 TW26-003",
        "registered module-A..C ref N-1",
        "hole foot-1..2 10 mm x 55 mm",
    ):
        assert enter(tmp_path, entry)[0] == 0
    lines = enter(tmp_path, "torque foot-1..3 12 Nm")[1].split("\n")
    assert lines[-4] == "caution: pull, then look"
    assert lines[-3].endswith("wiring: breaker-off")


@pytest.mark.parametrize(
    ("entry", "line"),
    [
        ("did delivery", "09:20  did     delivery"),
        ("10:05 did delivery", "10:05 did delivery"),
        ("10:05:20  did   delivery", "10:05:20  did   delivery"),
        ("2026-03-01 16:00 did delivery", "2026-03-01 16:00 did delivery"),
        ("note   as  it was said -- and why", "09:20  note    as  it was said -- and why"),
        ("crew jp apprentice", "crew jp apprentice"),
        ("  did delivery  ", "09:20  did     delivery"),
        ("n/a foot-3 by mo -- two only", "09:20  n/a     foot-3 by mo -- two only"),
        ("registered module-A ref N-1", "09:20  registered module-A ref N-1"),
        ("did delivery — crate dry", "09:20  did     delivery — crate dry"),
    ],
)
def test_what_is_written_on_the_log_s_own_day(tmp_path, entry, line):
    path = a_site(tmp_path)
    assert enter(tmp_path, entry)[0] == 0
    assert path.read_text(encoding="utf-8") == f"{LOG}{line}\n"


def test_another_day_is_opened_once(tmp_path):
    path = a_site(tmp_path)
    enter(tmp_path, "did delivery", *LATER)
    enter(tmp_path, "look wall-sound ok", *LATER)
    assert path.read_text(encoding="utf-8").removeprefix(LOG) == (
        "\nday 2026-03-05\n07:55  did     delivery\n07:55  look    wall-sound ok\n"
    )


def test_a_day_follows_a_visit_closely(tmp_path):
    path = a_site(tmp_path)
    enter(tmp_path, "visit service", *LATER)
    enter(tmp_path, "look vents-clean ok", *LATER)
    assert path.read_text(encoding="utf-8").removeprefix(LOG) == (
        "\nvisit service\nday 2026-03-05\n07:55  look    vents-clean ok\n"
    )


def test_line_ends_mark_and_a_missing_last_end(tmp_path):
    path = a_site(tmp_path)
    path.write_bytes(b"\xef\xbb\xbf" + LOG.rstrip("\n").replace("\n", "\r\n").encode())
    assert enter(tmp_path, "did delivery")[0] == 0
    wanted = b"\xef\xbb\xbf" + (LOG + "09:20  did     delivery\n").replace("\n", "\r\n").encode()
    assert path.read_bytes() == wanted


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ("torqe foot-1 12 Nm", "did you mean `torque`?"),
        ("torque foot-1 12 nm", "Nm is newton metre"),
        ("torque foot-1..3 12 12 Nm", "three places, but two values"),
        ("torque foot-1 12 V", "[unit-kind]"),
        ("25:10 did delivery", "[bad-time]"),
        ("- forgot the label", "[begins-with-dash]"),
        ("strike torque foot-1 -- wrong", "[strike-nothing]"),
        ("set password hunter2", "passwords have no place in a log"),
        ("# later", "nothing in it that could be entered"),
        ("   ", "nothing in it that could be entered"),
        ("-- why", "begins with a dash"),
        ("site other-1", "[two-sites]"),
    ],
)
def test_what_cannot_be_read_is_refused_and_not_written(tmp_path, entry, words):
    path = a_site(tmp_path)
    status, out, err = run(tmp_path, "enter", *AT, "--", entry, "hill-9.site")
    assert (status, out) == (1, "")
    assert words in err
    assert path.read_text(encoding="utf-8") == LOG


def test_work_that_is_wrong_is_written_all_the_same(tmp_path):
    """The log is to say what was done. Only what cannot be read is refused."""
    path = a_site(tmp_path)
    status, out, _ = enter(tmp_path, "did breaker-on")
    assert status == 0
    assert "out-of-order" in out
    assert path.read_text(encoding="utf-8").endswith("did     breaker-on\n")


def test_a_strike_that_matches_is_written(tmp_path):
    a_site(tmp_path)
    enter(tmp_path, "torque foot-1 12 Nm")
    assert enter(tmp_path, "strike torque foot-1 -- wrong joint")[0] == 0


def test_it_says_when_the_log_was_signed(tmp_path):
    a_site(tmp_path, LOG + "09:00  sign    mo day-end\n")
    out = enter(tmp_path, "did delivery")[1]
    assert "mo signed in line 9 (day-end); this stands below the signature\n" in out


def test_danger_and_leaving_head_the_answer(tmp_path):
    a_site(tmp_path)
    enter(tmp_path, "defect D1 danger live part within reach")
    out = enter(tmp_path, "did delivery")[1]
    assert out.startswith("hill-9: DANGER D1: live part within reach\n")


def test_nothing_left(tmp_path):
    (tmp_path / "one.sheet").write_text("sheet one\nstep delivery\n", encoding="utf-8")
    (tmp_path / "a.site").write_text("site a-1\nsheet one\ncrew mo lead\n", encoding="utf-8")
    assert f"\n{READY}\n" in enter(tmp_path, "did delivery")[1]


def test_the_other_crew_s_log_of_the_site_is_judged_with_it(tmp_path):
    """`breaker-on` comes after the lugs and the insulation test, which the other log has."""
    path = a_site(tmp_path)
    other = "site hill-9\nday 2026-03-02\n08:30 did breaker-off\n"
    other += "08:40 torque lug-1..3 4 Nm with TD1\n"
    other += "08:50 reading insulation dc/earth 200 MΩ at 500 V with MF1\n"
    (tmp_path / "second crew.site").write_text(other, encoding="utf-8")
    (tmp_path / "hill-99.site").write_text(other.replace("hill-9", "hill-99"), encoding="utf-8")
    out = enter(tmp_path, "did breaker-on", "hill-9.site", *AT)[1]
    assert "breaker-on: pass" in out
    assert "out-of-order" not in out
    assert "hill-99" not in out
    (tmp_path / "second crew.site").unlink()
    path.write_text(LOG, encoding="utf-8")
    assert "out-of-order" in enter(tmp_path, "did breaker-on", "hill-9.site", *AT)[1]


@pytest.mark.parametrize(
    ("files", "arguments", "words"),
    [
        ([], ["did x"], "there is none in this folder"),
        (["a.site", "b.site"], ["did x"], "name the log: a.site, b.site"),
        (["a.site"], ["did x", "c.site"], "c.site: no such log"),
        (["a.sheet"], ["did x", "a.sheet"], "a.sheet is no log"),
        (["a.site"], ["did x\ndid y"], "an entry is one line"),
        (["a.site"], ["did x", "--time", "9"], "write it as 08:05"),
        (["a.site"], [], "ENTRY"),
    ],
)
def test_bad_usage(tmp_path, files, arguments, words):
    for name in files:
        (tmp_path / name).write_text(f"{name.partition('.')[2]} x-1\n", encoding="utf-8")
    status, out, err = run(tmp_path, "enter", *arguments)
    assert (status, out) == (2, "")
    assert words in err
    assert all((tmp_path / name).read_text(encoding="utf-8").count("\n") == 1 for name in files)


def test_a_utf_16_log_is_left_alone(tmp_path):
    path = tmp_path / "a.site"
    path.write_bytes("site a-1\n".encode("utf-16"))
    before = path.read_bytes()
    assert enter(tmp_path, "did delivery")[0] == 2
    assert path.read_bytes() == before


def test_the_clock_s_time_and_day_where_none_is_given(tmp_path):
    import datetime
    import re

    path = a_site(tmp_path)
    before = datetime.date.today()
    assert run(tmp_path, "enter", "did delivery")[0] == 0
    added = path.read_text(encoding="utf-8").removeprefix(LOG)
    found = re.fullmatch(r"\nday (\d{4}-\d\d-\d\d)\n\d\d:\d\d  did     delivery\n", added)
    assert found is not None
    assert before <= datetime.date.fromisoformat(found[1]) <= datetime.date.today()

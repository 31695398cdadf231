"""`sitelog start`: a log to fill in claims nothing, lacks nothing and can be read as it stands."""

import datetime
import json
import re

import pytest

from sitelog.files.records import assemble, read_kit, read_log, read_sheet
from sitelog.files.source import from_bytes, read
from sitelog.fleet.workspace import load
from sitelog.judging.blank_log import Head, form
from sitelog.judging.site import gather
from sitelog.views.findings import CAUTION
from tests.corpus.cases import ALL
from tests.typing.running import EXAMPLES, KIT, SHEET, a_site, run

DAY = datetime.date(2026, 3, 2)
SHEETS = {sheet.name: sheet for sheet in map(read_sheet, map(read, map(str, EXAMPLES.glob("*.sheet"))))}
KITS = {kit.name: kit for kit in map(read_kit, map(read, map(str, EXAMPLES.glob("*.kit"))))}


def started(folder, *arguments):
    status, out, err = run(folder, "start", "hill-9", "--sheet", "twin-5", "--today", str(DAY), *arguments)
    assert (status, err) == (0, "")
    assert out.endswith(f"{CAUTION}\n")
    return (folder / "hill-9.site").read_text(encoding="utf-8")


def summary(folder):
    status, out, _ = run(folder, "check", "--format", "json", "--today", str(DAY))
    answer = json.loads(out)
    assert status == int(any(one["severity"] == "error" for one in answer["findings"]))
    return answer["sites"][0]


def test_the_whole_form(tmp_path):
    a_site(tmp_path, log="")
    assert (
        started(tmp_path, "--kit", "van-7", "--crew", "mo", "--crew", "jp")
        == f"""\
# To fill in: ___ stands where a value or a name goes; behind it what is asked, not what was done.
# A line behind # counts once the # is taken away: a step that is written down counts as done.
# {CAUTION}
site   hill-9
sheet  twin-5  revision B
kit    van-7
crew   mo      lead
crew   jp

visit  install
day    2026-03-02
use     TW3, MF1, VT1

# fixing
# did     delivery
look    wall-sound   ___
serial  module-A..C  ___ ___ ___               # asked like "TW##-###"
registered module-A..C  ref ___
hole    foot-1       ___ mm x ___ mm           # asked 10 mm +0.5/-0 x 50 mm +10/-0
hole    foot-2       ___ mm x ___ mm           # asked 10 mm +0.5/-0 x 50 mm +10/-0
torque  foot-1..3    ___ ___ ___ Nm with TW3   # asked M8 12 Nm +-10 %

# wiring
# caution: pull, then look
# did     breaker-off
torque  lug-1..3             ___ ___ ___ Nm                 # asked M5 4 Nm +-10 % while breaker-off
reading insulation dc/earth  ___ MΩ at ___ V with MF1       # asked >= 1 MΩ at 500 V while breaker-off
# caution: cover closed
# did     breaker-on
# did     fault-lamp  waited ___ s
# device  q2 C ___ A ___ kA
reading loop q2/earth        ___ ohm with MF1               # asked <= 2/3 * 230 V / q2.Ia
dead    L/N                  ___ V with VT1 proved on PU1   # asked <= 25 V proved before, after
cable   battery/inverter     ___ mm2  ___ m  ___ A at ___ V capacity ___ A fuse ___ A  # asked drop <= 2 % size >= 4 mm2
set     firmware inverter    ___                            # asked >= 2.8
series  discharge ___        from ___ % to ___ %            # asked energy >= 4 kWh
photo   ___                  of label
ref     permit  ___
"""  # noqa: E501
    )


def test_a_form_has_no_error_and_lists_everything_as_missing(tmp_path):
    """Against the same log with nothing but its first lines, which lacks everything."""
    path = a_site(tmp_path, log="")
    text = started(tmp_path, "--kit", "van-7", "--crew", "mo")
    form_says = summary(tmp_path)
    _, gaps, _ = run(tmp_path, "gaps", "--today", str(DAY))
    path.write_text("site hill-9\nsheet twin-5\nkit van-7\ncrew mo lead\nvisit install\nday 2026-03-02\n")
    assert form_says == summary(tmp_path)
    assert form_says["errors"] == 0
    assert form_says["missing"] > 20
    assert gaps == run(tmp_path, "gaps", "--today", str(DAY))[1]
    assert "___" in text


FILLED = [
    (r"wall-sound +___", "wall-sound ok"),
    (r"module-A\.\.C +___ ___ ___", "module-A..C TW26-001 TW26-002 TW26-003"),
    (r"(hole +foot-\d) +___ mm x ___", r"\1 10 mm x 55"),
    (r"foot-1\.\.3 +___ ___ ___", "foot-1..3 12.0 12.1 11.9"),
    (r"lug-1\.\.3 +___ ___ ___ Nm", "lug-1..3 4.0 4.1 3.9 Nm with TD1"),
    (r"dc/earth +___ MΩ at ___ V", "dc/earth 200 MΩ at 500 V"),
    (r"# device +q2 C ___ A ___ kA", "device q2 C 32 A 6 kA"),
    (r"q2/earth +___ ohm", "q2/earth 0.3 ohm"),
    (r"dead +L/N +___ V(.*)proved on PU1", r"dead L/N 0 V\1proved on PU1 before, after"),
    (r"___ mm2 +___ m +___ A at ___ V capacity ___ A fuse ___ A", "6 mm2 Cu 5 m 20 A at 307 V dc"),
    (r"firmware inverter +___", "firmware inverter 2.10"),
    (r"photo +___ +of", 'photo "IMG 1.jpg" of'),
    (r"permit +___", "permit 88-1"),
    (r"(registered .*)ref ___", r"\1ref N-1"),
    (r"waited ___ s", "waited 75 s"),
    (r"# (did .*)", r"\1"),
]


def test_a_form_filled_in_is_a_log_with_nothing_missing_but_the_trial(tmp_path):
    """Filled in from top to bottom as it stands: its order is one in which the work can be done."""
    path = a_site(tmp_path, log="")
    text = started(tmp_path, "--kit", "van-7", "--crew", "mo")
    text = re.sub(r"   # asked.*", "", text)
    for pattern, filled in FILLED:
        text, count = re.subn(pattern, filled, text)
        assert count, pattern
    path.write_text(text, encoding="utf-8")
    (tmp_path / "IMG 1.jpg").write_bytes(b"a picture")
    said = load([str(tmp_path)], DAY)
    assert [one for one in said.findings if one.severity != "info"] == []
    assert [gap.text for gap in said.gaps()] == ["series discharge (energy >= 4 kWh)"]


def test_a_half_filled_form_lacks_what_is_left(tmp_path):
    path = a_site(tmp_path, log="")
    text = started(tmp_path, "--kit", "van-7", "--crew", "mo")
    before = summary(tmp_path)["missing"]
    path.write_text(text.replace("___ ___ ___ Nm with TW3", "12.0 ___ 11.9 Nm with TW3"), encoding="utf-8")
    assert summary(tmp_path)["missing"] == before - 2
    gaps = run(tmp_path, "gaps", "--today", str(DAY))[1]
    assert "joint foot-2" in gaps
    assert "joint foot-1" not in gaps


def test_a_test_voltage_and_a_proving_are_not_claimed_by_the_form(tmp_path):
    """Who writes the value alone has said neither at what voltage nor that the tester was proved."""
    path = a_site(tmp_path, log="")
    text = started(tmp_path, "--kit", "van-7", "--crew", "mo")
    text = re.sub(r"dc/earth +___ MΩ", "dc/earth 200 MΩ", text)
    text = re.sub(r"L/N +___ V", "L/N 0 V", text)
    path.write_text(text, encoding="utf-8")
    slugs = {one.slug for one in load([str(tmp_path)], DAY).findings if one.severity != "info"}
    assert slugs >= {"wrong-test-voltage", "not-proved"}


def test_visits(tmp_path):
    a_site(tmp_path, log="")
    text = started(tmp_path, "--visit", "service")
    assert "look    vents-clean  ___" in text
    assert "torque" not in text
    (tmp_path / "hill-9.site").unlink()
    text = started(tmp_path, "--visit", "removal")
    assert text.split("\n")[-2:] == ["# did     taken-down", ""]
    (tmp_path / "hill-9.site").unlink()
    assert "vents-clean" not in started(tmp_path)


def test_it_never_overwrites(tmp_path):
    path = a_site(tmp_path, log="site hill-9\n")
    status, out, err = run(tmp_path, "start", "hill-9", "--sheet", "twin-5")
    assert (status, out) == (2, "")
    assert err == "sitelog: hill-9.site is there already and was left as it is; name another file with -o\n"
    assert path.read_text(encoding="utf-8") == "site hill-9\n"
    assert run(tmp_path, "start", "hill-9", "--sheet", "twin-5", "-o", "other.site")[0] == 0
    assert (tmp_path / "other.site").exists()
    status, out, _ = run(tmp_path, "start", "hill-9", "--sheet", "twin-5", "-o", "-")
    assert status == 0
    assert read_log(from_bytes(out.encode(), "a.site")).site == "hill-9"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["hill-9", "--sheet", "twin"], "no sheet `twin` is in reach; did you mean `twin-5`?"),
        (["hill-9", "--sheet", "twin-5 revision C"], "`twin-5` is in reach in revision B only"),
        (["hill-9", "--sheet", "twin-5", "--kit", "van"], "no kit `van` is in reach; did you mean `van-7`?"),
        (["hill 9", "--sheet", "twin-5"], "`hill 9` is no name for a site"),
        (["___", "--sheet", "twin-5"], "`___` is no name for a site"),
        (["a/b", "--sheet", "twin-5"], "`a/b` cannot be a file's name"),
        (["hill-9", "--sheet", "twin-5", "--crew", "mo,jp"], "`mo,jp` is no name for a person"),
        (["hill-9", "--sheet", "twin-5", "nowhere"], "nowhere: no such file or folder"),
        (["hill-9"], "--sheet"),
    ],
)
def test_what_cannot_be_meant_is_said(tmp_path, arguments, words):
    a_site(tmp_path, log="")
    status, out, err = run(tmp_path, "start", *arguments)
    assert (status, out) == (2, "")
    assert words in err
    assert not list(tmp_path.glob("*.site"))


def test_a_sheet_with_an_error_makes_no_form(tmp_path):
    """What cannot be read of a sheet would be missing from the form, and nobody would know."""
    a_site(tmp_path, log="")
    (tmp_path / "twin-5.sheet").write_text(SHEET + "joint arm-1  12 nm\n", encoding="utf-8")
    status, out, err = run(tmp_path, "start", "hill-9", "--sheet", "twin-5")
    assert (status, out) == (1, "")
    assert "[unit-case]" in err
    assert not list(tmp_path.glob("*.site"))


def test_a_sheet_may_be_named_by_its_file_and_need_not_lie_here(tmp_path):
    a_site(tmp_path, log="")
    there = tmp_path / "jobs"
    there.mkdir()
    assert run(there, "start", "hill-9", "--sheet", "../twin-5.sheet")[0] == 0
    assert run(there, "check")[0] == 0


@pytest.mark.parametrize("visit", ["install", "service", "removal"])
@pytest.mark.parametrize("kit", [None, *KITS])
@pytest.mark.parametrize("names", [[name] for name in SHEETS] + [["gandle-4", "house-rules"], list(SHEETS)])
def test_forms_from_the_examples_can_be_read_and_say_nothing(names, kit, visit):
    sheets = [assemble(SHEETS[name], SHEETS)[0] for name in names]
    holds(form(Head("hill-9", ("mo",), visit, DAY), sheets, KITS.get(kit), CAUTION))


@pytest.mark.parametrize(
    "case", [pytest.param(case, id=f"{case.path.stem}:{case.title}") for case in ALL if case.role == "sheet"]
)
def test_forms_from_every_sheet_of_the_corpus_can_be_read_and_say_nothing(case):
    """Sheets with errors, odd names and all: whatever comes of them is a log that says nothing yet."""
    sheet = read_sheet(from_bytes(case.data, case.file))
    kit = read_kit(from_bytes(KIT.encode(), "van-7.kit"))
    holds(form(Head("hill-9", ("mo",), "install", DAY), [sheet], kit, CAUTION))


def holds(lines):
    log = read_log(from_bytes("\n".join(lines).encode(), "hill-9.site"))
    assert [one for one in log.findings if one.severity == "error"] == []
    assert [mark for mark in gather("hill-9", [log], (), ()).live_marks() if mark.live] == []


def test_everything_asked_stands_in_the_form():
    for sheet in SHEETS.values():
        whole = assemble(sheet, SHEETS)[0]
        text = "\n".join(form(Head("hill-9", (), "install", DAY), [whole], None, CAUTION))
        for one in whole.requirements:
            if one.visit in ("", "install") and one.kind in ("step", "look", "cable", "photo", "hole"):
                assert re.search(rf"(?<!\S){re.escape(one.place or one.what)}(?!\S)", text), one.name


def test_what_comes_after_stands_below():
    """`after` and `before` of the sheet hold in the form, whatever order the sheet's lines have."""
    sheet = read_sheet(
        from_bytes(
            b"sheet a\nstep third after second\nstep second after b\njoint b-1..2 4 Nm +-10 %\n"
            b"step first before b\nstep fourth after third\n"
            b"step loop-1 after loop-2\nstep loop-2 after loop-1\n",
            "a.sheet",
        )
    )
    text = "\n".join(form(Head("s-1", (), "install", DAY), [sheet], None, CAUTION))
    assert re.findall(r"first|second|third|fourth|b-1|loop-\d", text) == [
        *("first", "b-1", "second", "third", "fourth"),
        *("loop-2", "loop-1"),
    ]


def test_a_tool_is_proposed_that_the_judge_takes():
    """A resistance range serves a continuity test, unless another tool is made for it."""
    sheet = read_sheet(from_bytes(b"sheet a\nreading continuity frame/earth <= 0.1 ohm\n", "a.sheet"))
    for tools, proposed in (
        (b"tool MM1 resistance 0..200 ohm +-1 %\n", "MM1"),
        (b"tool MM1 resistance 0..200 ohm +-1 %\ntool CT1 continuity 0..20 ohm +-2 %\n", "CT1"),
    ):
        kit = read_kit(from_bytes(b"kit van\n" + tools, "van.kit"))
        text = "\n".join(form(Head("s-1", (), "install", DAY), [sheet], kit, CAUTION))
        assert re.search(rf"^reading continuity .* with {proposed}\b", text, re.MULTILINE), text


def test_a_state_is_made_before_what_wants_it_and_its_caution_stands_above(tmp_path):
    """A joint wanted while the breaker is off, though the sheet names the step further down."""
    a_site(tmp_path, log="")
    (tmp_path / "twin-5.sheet").write_text(
        "sheet twin-5\njoint lug-1 M5 4 Nm +-10 % while breaker-off\n"
        'step breaker-off caution "pull, then look"\n'
        "joint rail-1 8 Nm +-10 % while cover-open\nstep cover-open\n",
        encoding="utf-8",
    )
    lines = [line.split("  ")[0] for line in started(tmp_path).splitlines()]
    first = lines.index("torque")
    assert lines[first - 2] == "# caution: pull, then look"
    assert lines[first - 1].startswith("# did")
    second = lines.index("torque", first + 1)
    assert lines[second - 2 : second] == [
        "# did",
        "# did",
    ]  # of the step itself, and of the state without one


def test_of_two_tools_that_fit_the_one_named_for_the_reading_is_proposed(tmp_path):
    """Both measure lengths; one of them is there for clearances."""
    a_site(tmp_path, log="")
    (tmp_path / "twin-5.sheet").write_text("sheet twin-5\nreading clearance unit/door >= 550 mm\n", "utf-8")
    (tmp_path / "van-7.kit").write_text(
        "kit van-7\ntool TM1 length 0..5 m +-1 mm\ntool LM1 clearance 0..10 m +-2 mm\n", "utf-8"
    )
    (line,) = [line for line in started(tmp_path, "--kit", "van-7").splitlines() if "clearance" in line]
    assert " with LM1" in line

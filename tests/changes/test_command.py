"""`sitelog changes` on real repositories. What is held to be a revision or a path is git's own way
(gitrevisions(7) and git-diff(1)): `A..B`, `A...B`, `..` alone as the folder above."""

import json
import os
import subprocess
from pathlib import Path

import pytest

from sitelog.cli.main import main
from sitelog.cli.revisions import Repository as Where
from sitelog.cli.revisions import tree_of, working_tree
from tests.changes.repositories import FILES, KIT, LOG, SECOND, SHEET, Repository

TODAY = ("--today", "2026-04-01")


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> str:
    """What one run keeps for the next, so that they are quick."""
    return str(tmp_path_factory.mktemp("kept"))


@pytest.fixture
def repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kept: str) -> Repository:
    """A repository with one commit, and this process in its top folder."""
    for name in ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("SITELOG_CACHE", kept)
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
    made = Repository(tmp_path / "jobs")
    made.commit(dict(FILES))
    monkeypatch.chdir(made.path)
    return made


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(["changes", *words, *TODAY])
    said = capsys.readouterr()
    return status, said.out, said.err


def as_json(capsys: pytest.CaptureFixture[str], *words: str, status: int = 1):  # type: ignore[no-untyped-def]
    found, out, err = run(capsys, *words, "--format", "json")
    assert (found, err) == (status, "")
    return json.loads(out)


def trouble(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    status, out, err = run(capsys, *words)
    assert (status, out, err.count("\n")) == (2, "", 1)
    return err


# ---- nothing, something --------------------------------------------------------------------------
def test_nothing_changed(repo, capsys):
    assert run(capsys) == (0, "nothing changed in meaning\n", "")


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("09:10  torque  foot", "09:10     torque foot"),
        lambda text: text.replace("\n", "\r\n"),
        lambda text: "# checked by nobody\n\n" + text + "\n\n# the end\n",
        lambda text: text.replace("ok\n", "ok   # and dry\n"),
        lambda text: text.replace("12.2 Nm", "12.2 N.m"),  # another spelling of the unit
        lambda text: text.replace("09:50  note    the owner", "09:50  note    the   owner"),
    ],
    ids=["blanks", "line ends", "comments", "comment behind", "spelling", "blanks in words"],
)
def test_blanks_comments_and_spellings_are_no_change(repo, capsys, change):
    repo.write({"north-1.site": change(LOG)})
    assert run(capsys) == (0, "nothing changed in meaning\n", "")


def test_entries_that_change_places_in_the_file_are_no_change(repo, capsys):
    lines = LOG.splitlines(keepends=True)
    lines[-1], lines[-2] = lines[-2], lines[-1]  # both have a time, so the order of the job is the same
    repo.write({"north-1.site": "".join(lines)})
    assert run(capsys)[0] == 0


def test_a_verdict_that_flips(repo, capsys):
    repo.replace("north-1.site", "12.0 12.1", "12.0 9.8")
    (site,) = as_json(capsys)["sites"]
    (flip,) = site["verdicts"]
    assert (flip["place"], flip["before"], flip["after"]) == ("foot-2", "pass", "under")
    assert (flip["value_before"], flip["value"]) == ("12.1 Nm", "9.8 Nm")
    assert (flip["file"], flip["line"], flip["because"]) == ("north-1.site", 8, [])
    (edit,) = site["edits"]
    assert edit["how"] == "altered"
    assert "12.0 12.1 11.9" in edit["before"]["text"]
    assert "12.0 9.8 11.9" in edit["after"]["text"]
    status, out, _ = run(capsys)
    assert status == 1
    assert "pass → under  joint foot-2: 9.8 Nm is below 10.8 Nm" in out
    assert "(was 12.1 Nm)  (north-1.site:8)" in out
    assert "licensed person" in out


def test_added_deleted_and_struck(repo, capsys):
    repo.replace("north-1.site", "09:50  note    the owner was there\n", "")
    with open("north-1.site", "a", encoding="utf-8") as log:
        log.write("10:00  strike look wall-sound  -- wrong wall\n10:05  todo  sweep\n")
    (site,) = as_json(capsys)["sites"]
    found = {(one["how"], (one["after"] or one["before"])["text"].split()[1]) for one in site["edits"]}
    assert found == {("deleted", "note"), ("struck", "look"), ("added", "strike"), ("added", "todo")}
    assert [(one["what"], one["before"], one["after"]) for one in site["verdicts"]] == [
        ("look wall-sound", "pass", "missing")
    ]


def test_one_place_of_an_entry_struck(repo, capsys):
    with open("north-1.site", "a", encoding="utf-8") as log:
        log.write("10:00  strike torque foot-2  -- read off the wrong dial\n")
    (site,) = as_json(capsys)["sites"]
    assert [one["places"] for one in site["edits"] if one["how"] == "struck"] == [["foot-2"]]


def test_a_line_that_cannot_be_read_is_a_change(repo, capsys):
    repo.replace("north-1.site", "09:40  look ", "09:40  loook")
    (site,) = as_json(capsys)["sites"]
    assert {one["how"] for one in site["edits"]} == {"deleted", "added"}


def test_an_untimed_entry_moved_to_another_day_was_moved(repo, capsys):
    log = LOG.replace(
        "09:50  note    the owner was there\n", "note the owner was there\nday 2026-03-03\nnote x\n"
    )
    repo.commit({"north-1.site": log})
    repo.write({"north-1.site": log.replace("note the owner was there\n", "") + "note the owner was there\n"})
    (site,) = as_json(capsys)["sites"]
    assert [(one["how"], one["before"]["line"], one["after"]["line"]) for one in site["edits"]] == [
        ("moved", 11, 13)
    ]


def test_a_defect_opened_and_cleared(repo, capsys):
    repo.commit({"north-1.site": LOG + "10:00  defect D1 danger bare wire\n"})
    repo.write({"north-1.site": LOG + "10:00  defect D1 danger bare wire\n10:05  cleared D1 -- cut off\n"})
    cleared = as_json(capsys)["sites"][0]["verdicts"]
    assert [(one["what"], one["before"], one["after"]) for one in cleared] == [
        ("defect D1", "open", "cleared")
    ]
    status, out, _ = run(capsys, "HEAD~1..HEAD")
    assert status == 1
    assert out.startswith("north-1: DANGER D1: bare wire\n")
    assert "— → open  defect D1" in out


# ---- signatures ----------------------------------------------------------------------------------
def _signed(repo, capsys):  # type: ignore[no-untyped-def]
    assert main(["sign", "mo", "north-1.site", "--time", "12:00", "--today", "2026-03-02"]) == 0
    capsys.readouterr()
    repo.commit()


def test_a_new_signature_and_a_broken_one(repo, capsys):
    _signed(repo, capsys)
    (site,) = as_json(capsys, "HEAD~1..HEAD")["sites"]
    assert [(one["how"], one["who"]) for one in site["signatures"]] == [("new", "mo")]
    assert site["edits"] == []
    repo.replace("north-1.site", "12.1 11.9", "12.1 12.9")
    (site,) = as_json(capsys)["sites"]
    (broken,) = site["signatures"]
    assert (broken["how"], broken["purpose"], broken["line"]) == ("broken", "installed", 12)
    assert "signature of mo, installed: broken" in run(capsys)[1]


def test_a_signature_whose_kit_changed(repo, capsys):
    _signed(repo, capsys)
    repo.write({"van.kit": KIT + "calibrated TW3  2026-03-20  due 2027-03-20  cert K-9\n"})
    found = as_json(capsys)
    assert [one["how"] for one in found["sites"][0]["signatures"]] == ["sheets or kits changed"]
    assert found["sites"][0]["verdicts"] == []


def test_a_signature_taken_away(repo, capsys):
    _signed(repo, capsys)
    repo.write({"north-1.site": LOG})
    assert [one["how"] for one in as_json(capsys)["sites"][0]["signatures"]] == ["gone"]


# ---- sheets and kits -----------------------------------------------------------------------------
def test_a_sheet_that_judges_anew(repo, capsys):
    repo.commit({"south-2.site": SECOND})
    repo.replace("rack.sheet", "12 Nm +-10 %", "12 Nm +-1 %")
    found = as_json(capsys)
    (sheet,) = found["sheets_and_kits"]
    assert (sheet["kind"], sheet["name"], sheet["file"]) == ("sheet", "rack-2", "rack.sheet")
    assert [one["how"] for one in sheet["edits"]] == ["altered"]
    # Of 12.0, 12.1, 11.9 and 12.2 Nm only 12.2 is beyond 12 Nm +-1 % (11.88 to 12.12 Nm).
    assert sheet["judged_anew"] == [
        {"site": "north-1", "results": 4, "flips": 1},
        {"site": "south-2", "results": 4, "flips": 1},
    ]
    assert [
        (one["site"], flip["place"], flip["after"], flip["because"])
        for one in found["sites"]
        for flip in one["verdicts"]
    ] == [("north-1", "foot-4", "over", ["sheet rack-2"]), ("south-2", "foot-4", "over", ["sheet rack-2"])]
    assert "  by sheet rack-2  (north-1.site:8)" in run(capsys)[1]


def test_a_base_sheet_is_named_for_what_it_changed(repo, capsys):
    repo.commit(
        {"own.sheet": "sheet own-1\nbased on rack-2\n", "north-1.site": LOG.replace("rack-2", "own-1")}
    )
    repo.replace("rack.sheet", "12 Nm +-10 %", "14 Nm +-1 %")
    found = as_json(capsys)
    assert {tuple(flip["because"]) for flip in found["sites"][0]["verdicts"]} == {("sheet rack-2",)}
    assert [(one["name"], one["judged_anew"][0]["flips"]) for one in found["sheets_and_kits"]] == [
        ("rack-2", 4)
    ]


def test_a_sheet_that_asks_more(repo, capsys):
    repo.write({"rack.sheet": SHEET + "look ventilation\n"})
    found = as_json(capsys)
    (flip,) = found["sites"][0]["verdicts"]
    assert (flip["what"], flip["before"], flip["after"]) == ("look ventilation", None, "missing")
    assert flip["because"] == ["sheet rack-2"]


def test_a_kit_that_judges_anew(repo, capsys):
    repo.replace(
        "van.kit", "calibrated TW3  2026-01-15  due 2027-01-15", "calibrated TW3  2026-01-15  due 2026-02-15"
    )
    found = as_json(capsys)
    assert {(flip["before"], flip["after"], *flip["because"]) for flip in found["sites"][0]["verdicts"]} == {
        ("pass", "untraceable", "kit van-9")
    }
    assert [(one["kind"], one["judged_anew"][0]["flips"]) for one in found["sheets_and_kits"]] == [("kit", 4)]


def test_a_comment_in_a_sheet_is_no_change(repo, capsys):
    repo.write({"rack.sheet": "# from the office\n" + SHEET.replace("joint  foot", "joint     foot")})
    assert run(capsys)[0] == 0


def test_a_sheet_that_no_site_uses(repo, capsys):
    repo.commit({"spare.sheet": "sheet spare-1\nlook wall-sound\n"})
    repo.replace("spare.sheet", "wall-sound", "wall-dry")
    found = as_json(capsys)
    assert found["sites"] == []
    assert [(one["name"], one["judged_anew"]) for one in found["sheets_and_kits"]] == [("spare-1", [])]
    assert run(capsys, "north-1.site")[0] == 0  # it does not touch the log that was asked for


def test_a_sheet_in_another_file_is_no_change(repo, capsys):
    repo.git("mv", "rack.sheet", "rack two.sheet")
    assert run(capsys)[0] == 0


def test_a_loggers_file_that_changed(repo, capsys):
    trial = "time,voltage [V],current [A]\n" + "".join(
        f"2026-03-02 10:{at:02}:00,50,-20\n" for at in range(60)
    )
    sheet = SHEET + "series discharge  energy >= 0.9 kWh\n"
    repo.commit(
        {"rack.sheet": sheet, "t.csv": trial, "north-1.site": LOG + "11:00  series discharge t.csv\n"}
    )
    repo.write({"t.csv": trial.replace("-20", "-2")})
    (site,) = as_json(capsys)["sites"]
    assert [(one["what"], one["before"], one["because"]) for one in site["verdicts"]] == [
        ("series discharge", "pass", ["file t.csv"])
    ]
    assert site["edits"] == []


# ---- sites and files that come and go ------------------------------------------------------------
def test_a_site_that_appears_and_one_that_disappears(repo, capsys):
    repo.git("rm", "-q", "north-1.site")
    repo.write({"south-2.site": SECOND})
    found = as_json(capsys)["sites"]
    assert [(one["site"], one["how"]) for one in found] == [("north-1", "gone"), ("south-2", "new")]
    out = run(capsys)[1]
    assert "north-1: no longer there; it had 11 entries  (north-1.site)" in out
    assert "south-2: new, with 11 entries  (south-2.site)\n  verdicts: 8 pass\n" in out


def test_a_renamed_log_is_no_change(repo, capsys):
    repo.git("mv", "north-1.site", "the north.site")
    assert run(capsys)[0] == 0
    repo.commit()
    assert run(capsys, "HEAD~1..HEAD")[0] == 0


def test_names_with_blanks_and_line_ends(repo, capsys):
    name = "the\nnorth \x1b[31m é.site"
    repo.git("mv", "north-1.site", name)
    repo.commit()
    repo.replace(name, "12.0 12.1", "12.0 9.8")
    (site,) = as_json(capsys)["sites"]
    assert site["files"] == [name]
    out = run(capsys)[1]
    assert "the\\x0anorth \\x1b[31m é.site:8" in out
    assert "\x1b" not in out


def test_ignored_and_hidden_logs_are_passed_over(repo, capsys):
    repo.commit({".gitignore": "old/\n"})
    repo.write({"old/south-2.site": SECOND, ".kept/south-3.site": SECOND})
    assert run(capsys)[0] == 0


def test_logs_of_one_site_in_two_files(repo, capsys):
    more = "site north-1\nsheet rack-2\nkit van-9\nday 2026-03-03\n09:00  torque foot-1  9 Nm with TW3\n"
    repo.write({"b/north-1.site": more})
    (site,) = as_json(capsys)["sites"]
    assert [(one["place"], one["after"], one["file"]) for one in site["verdicts"]] == [
        ("foot-1", "under", os.path.join("b", "north-1.site"))
    ]


def test_only_the_sites_asked_for(repo, capsys):
    repo.commit({"a/south-2.site": SECOND})
    repo.replace("a/south-2.site", "12.0 12.1", "9.0 12.1")
    repo.replace("north-1.site", "12.0 12.1", "9.0 12.1")
    assert [one["site"] for one in as_json(capsys, "a")["sites"]] == ["south-2"]
    assert [one["site"] for one in as_json(capsys)["sites"]] == ["north-1", "south-2"]


# ---- which revisions -----------------------------------------------------------------------------
@pytest.fixture
def three(repo: Repository) -> Repository:
    """Three commits: 12.1, then 9.8, then 9.5 Nm at foot-2."""
    repo.commit({"north-1.site": LOG.replace("12.1", "9.8")})
    repo.commit({"north-1.site": LOG.replace("12.1", "9.5")})
    return repo


@pytest.mark.parametrize(
    ("word", "was", "now"),
    [
        ("HEAD~2", "12.1", "12.2"),
        ("HEAD~2..HEAD~1", "12.1", "9.8"),
        ("HEAD~1..", "9.8", "9.5"),
        ("HEAD..HEAD~2", "9.5", "12.1"),
        ("..HEAD~1", "9.5", "9.8"),
        ("main", "9.5", "12.2"),
    ],
)
def test_revisions(three, capsys, word, was, now):
    three.write({"north-1.site": LOG.replace("12.1", "12.2")})
    (site,) = as_json(capsys, word)["sites"]
    (edit,) = site["edits"]
    assert f"12.0 {was} 11.9" in edit["before"]["text"]
    assert f"12.0 {now} 11.9" in edit["after"]["text"]


def test_since_two_branches_parted(repo, capsys):
    repo.git("checkout", "-q", "-b", "side")
    repo.commit({"south-2.site": SECOND})
    repo.git("checkout", "-q", "main")
    repo.commit({"north-1.site": LOG.replace("12.1", "9.8")})
    assert [one["site"] for one in as_json(capsys, "main...side")["sites"]] == ["south-2"]
    assert [one["site"] for one in as_json(capsys, "main..side")["sites"]] == ["north-1", "south-2"]


def test_a_merge(repo, capsys):
    repo.git("checkout", "-q", "-b", "side")
    repo.commit({"south-2.site": SECOND})
    repo.git("checkout", "-q", "main")
    repo.commit({"north-1.site": LOG.replace("12.1", "9.8")})
    repo.git("merge", "-q", "--no-edit", "side")
    assert [one["site"] for one in as_json(capsys, "HEAD^1..HEAD")["sites"]] == ["south-2"]
    assert [one["site"] for one in as_json(capsys, "HEAD^2..HEAD")["sites"]] == ["north-1"]


def test_a_shallow_clone(three, capsys, monkeypatch, tmp_path):
    three.git("clone", "-q", "--depth", "2", f"file://{three.path}", str(tmp_path / "flat"))
    monkeypatch.chdir(tmp_path / "flat")
    assert len(as_json(capsys, "HEAD~1..HEAD")["sites"]) == 1
    assert "shallow" in trouble(capsys, "HEAD~2..HEAD")


def test_a_linked_working_tree(three, capsys, monkeypatch, tmp_path):
    three.git("worktree", "add", "-q", str(tmp_path / "beside"), "HEAD~2")
    monkeypatch.chdir(tmp_path / "beside")
    assert run(capsys)[0] == 0
    (flip,) = as_json(capsys, "..main")["sites"][0]["verdicts"]
    assert (flip["place"], flip["after"], flip["value"]) == ("foot-2", "under", "9.5 Nm")


def test_while_a_merge_stands_in_conflict(repo, capsys):
    repo.git("checkout", "-q", "-b", "side")
    repo.commit({"north-1.site": LOG.replace("12.1", "9.8")})
    repo.git("checkout", "-q", "main")
    repo.commit({"north-1.site": LOG.replace("12.1", "9.5")})
    with pytest.raises(subprocess.CalledProcessError):
        repo.git("merge", "-q", "side")
    (site,) = as_json(capsys)["sites"]
    assert {flip["after"] for flip in site["verdicts"]} == {"missing"}  # lines in conflict are not read
    assert [edit["how"] for edit in site["edits"]] == ["deleted"]


@pytest.mark.parametrize("method", ["sha1", "sha256"])
def test_contents_are_named_as_git_names_them(tmp_path, method):
    """Held against git's own `git hash-object`."""
    repo = Repository(tmp_path / method, "--object-format", method)
    repo.commit(dict(FILES))
    where = Where(os.path.realpath(repo.path), "")
    then = tree_of(where, repo.git("rev-parse", "HEAD"))
    now = working_tree(where, [], then)
    assert {name: one.content for name, one in now.items()} == {
        name: repo.git("hash-object", name) for name in FILES
    }
    assert {name: one.content for name, one in then.items()} == {
        name: one.content for name, one in now.items()
    }


def test_the_index_is_not_touched(three, capsys):
    before = (three.path / ".git" / "index").read_bytes()
    os.utime("north-1.site", (1, 1))
    run(capsys, "HEAD~1")
    assert (three.path / ".git" / "index").read_bytes() == before
    assert three.git("status", "--porcelain") == ""


def test_from_a_folder_inside_and_from_outside(three, capsys, monkeypatch, tmp_path):
    three.commit({"a/b/south-2.site": SECOND})
    three.replace("a/b/south-2.site", "12.0 12.1", "9.0 12.1")
    monkeypatch.chdir(three.path / "a")
    assert as_json(capsys)["sites"][0]["files"] == [os.path.join("b", "south-2.site")]
    found = as_json(capsys, "HEAD~2", "..")["sites"]
    assert [one["files"] for one in found] == [
        [os.path.join("..", "north-1.site")],
        [os.path.join("b", "south-2.site")],
    ]
    monkeypatch.chdir(tmp_path)
    assert as_json(capsys, str(three.path))["sites"][0]["files"] == [os.path.join("a", "b", "south-2.site")]


def test_a_log_that_is_gone_can_be_named(repo, capsys):
    (repo.path / "north-1.site").unlink()
    assert [one["how"] for one in as_json(capsys, "north-1.site")["sites"]] == ["gone"]


def test_a_name_that_is_a_revision_and_a_folder(repo, capsys):
    repo.git("branch", "jobs")
    repo.commit({"jobs/south-2.site": SECOND})
    assert "./jobs" in trouble(capsys, "jobs")
    assert run(capsys, "./jobs")[0] == 0
    assert [one["site"] for one in as_json(capsys, "jobs^0")["sites"]] == ["south-2"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nope"], "no revision `nope`"),
        (["HEAD..nope"], "no revision `nope`"),
        (["HEAD~99"], "no revision `HEAD~99`"),
        (["HEAD", "nope.site"], "nope.site: no such file or folder, then or now"),
        (["HEAD", "-"], "standard input"),
        ([".."], "outside the repository"),
        (["HEAD", "../elsewhere"], "outside the repository"),
    ],
)
def test_trouble_is_one_line(repo, capsys, words, said):
    assert said in trouble(capsys, *words)


def test_two_histories_with_nothing_in_common(repo, capsys):
    repo.git("checkout", "-q", "--orphan", "other")
    repo.commit({"south-2.site": SECOND})
    assert "no commit in common" in trouble(capsys, "main...other")
    assert run(capsys, "main..other")[0] == 1


def test_no_repository_and_no_commit(repo, capsys, tmp_path, monkeypatch):
    (tmp_path / "plain").mkdir()
    monkeypatch.chdir(tmp_path / "plain")
    assert "no git repository" in trouble(capsys)
    subprocess.run(["git", "init", "-q"], check=True)
    assert "no commit yet" in trouble(capsys)


def test_no_git(repo, capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))
    assert "git is needed" in trouble(capsys)


def test_a_word_that_looks_like_an_option_is_never_given_to_git_as_one(repo, capsys):
    assert main(["changes", "--", "--output=x"]) == 2
    capsys.readouterr()
    assert not (repo.path / "x").exists()


def test_help_has_an_example(capsys):
    assert main(["changes", "--help"]) == 0
    assert "example: sitelog changes" in capsys.readouterr().out


def test_links_of_a_revision_lead_nowhere_outside(repo, capsys, tmp_path):
    (tmp_path / "secret.site").write_text(SECOND, encoding="utf-8")
    os.symlink("../secret.site", repo.path / "out.site")
    os.symlink("north-1.site", repo.path / "in.site")
    repo.commit()
    (repo.path / "out.site").unlink()
    assert run(capsys)[0] == 0
    assert run(capsys, "HEAD~1..HEAD")[0] == 0


def test_a_defect_taken_out_of_the_log(repo, capsys):
    """It was open, and nothing is said of it now."""
    repo.commit({"north-1.site": LOG + "10:00  defect D1 danger bare wire\n"})
    repo.write({"north-1.site": LOG})
    gone = as_json(capsys)["sites"][0]["verdicts"]
    assert [(flip["what"], flip["before"], flip["after"]) for flip in gone] == [("defect D1", "open", None)]

"""`sitelog overview` as people call it: files, links, messages, and what a log holds staying words."""

import importlib.util
from pathlib import Path
from urllib.parse import unquote

import pytest

from sitelog.cli.main import main
from sitelog.report.overview.pages import page_names
from tests.report.overview.fleets import DONE, EXAMPLES, KIT, SHEET, Reader, log

DAY = ["--today", "2026-11-25"]
HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(1)>'\\\"></style></svg>&lt;b&gt;{{7*7}}|`x`"


@pytest.fixture(autouse=True)
def no_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SITELOG_CACHE", "")


def written(folder: Path, out: Path, *more: str) -> Reader:
    assert main(["overview", str(folder), "-o", str(out), *DAY, *more]) == 0
    return Reader(out.read_text(encoding="utf-8"))


def test_it_says_what_it_wrote(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    out = tmp_path / "o.html"
    page = written(EXAMPLES, out)
    said = capsys.readouterr()
    assert said.out == ""
    assert (
        said.err
        == f"sitelog: 8 sites: 4 not complete, 3 complete by their sheets, 1 taken down, written to {out}\n"
    )
    assert [path.name for path in tmp_path.iterdir()] == ["o.html"]
    assert {"svg", "table", "main", "nav", "footer"} <= page.elements
    assert "script" not in page.elements


def test_without_a_file_it_is_printed(capsys: pytest.CaptureFixture[str]):
    assert main(["overview", str(EXAMPLES), *DAY]) == 0
    said = capsys.readouterr()
    assert said.out.startswith("<!doctype html>")
    assert said.err == "sitelog: 8 sites: 4 not complete, 3 complete by their sheets, 1 taken down\n"


def test_the_same_logs_give_the_same_bytes(tmp_path: Path):
    written(EXAMPLES, tmp_path / "a.html")
    written(EXAMPLES, tmp_path / "b.html")
    assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes()


def test_with_an_index_it_says_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    written(EXAMPLES, tmp_path / "a.html")
    monkeypatch.setenv("SITELOG_CACHE", str(tmp_path / "cache"))
    for _ in range(2):
        written(EXAMPLES, tmp_path / "b.html")
        assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes()
    assert list((tmp_path / "cache").glob("*.index"))


def test_names_lead_nowhere_where_no_page_is(tmp_path: Path):
    page = written(EXAMPLES, tmp_path / "o.html")
    assert [link for link in page.links if not link.startswith("#")] == []
    assert {link[1:] for link in page.links} <= set(page.ids)
    assert "sitelog overview --handovers -o overview.html" in (tmp_path / "o.html").read_text("utf-8")


def test_with_handovers_every_site_leads_to_its_page(tmp_path: Path):
    fleet = tmp_path / "fleet"
    log(fleet, "quay-14")
    log(fleet, "Größe-3", DONE + "08:50 defect D1 major lid cracked\n")
    log(fleet, "größe-3b")
    log(fleet, '"../up there"')
    log(fleet, '"100% <done>"')
    page = written(fleet, tmp_path / "out.html", "--handovers")
    links = {link for link in page.links if not link.startswith("#")}
    assert len(links) == 5
    assert all("/" not in link for link in links)
    for link in links:
        text = (tmp_path / unquote(link)).read_text(encoding="utf-8")
        assert text.startswith("<!doctype html>")
    assert len(list(tmp_path.glob("handover-*.html"))) == 5
    assert "Größe-3" in (tmp_path / "handover-Größe-3.html").read_text(encoding="utf-8")
    again = written(fleet, tmp_path / "out.html")  # the pages are still there
    assert again.links == page.links


def test_many_handovers_are_written_by_several_processes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("sitelog.cli.handovers.FEW", 1)
    monkeypatch.setattr("sitelog.cli.handovers.processors", lambda: 2)
    for number in range(6):
        log(tmp_path / "fleet", f"a-{number}")
    written(tmp_path / "fleet", tmp_path / "several.html", "--handovers")
    several = {path.name: path.read_bytes() for path in tmp_path.glob("handover-*")}
    monkeypatch.setattr("sitelog.cli.handovers.processors", lambda: 1)
    written(tmp_path / "fleet", tmp_path / "one.html", "--handovers")
    assert len(several) == 6
    assert several == {path.name: path.read_bytes() for path in tmp_path.glob("handover-*")}


def test_the_pages_of_a_fleet_have_the_photos_that_handover_shows(tmp_path: Path):
    written(EXAMPLES, tmp_path / "o.html", "--handovers")
    assert "data:image/jpeg;base64," in (tmp_path / "handover-hopfield-7.html").read_text("utf-8")
    assert main(["handover", "hopfield-7", str(EXAMPLES), "-o", str(tmp_path / "one.html"), *DAY]) == 0
    assert (tmp_path / "one.html").read_text("utf-8") == (tmp_path / "handover-hopfield-7.html").read_text(
        "utf-8"
    )


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            ["--handovers"],
            "--handovers writes HTML pages beside the overview: name its file with -o, in HTML",
        ),
        (["--handovers", "--format", "markdown", "-o", "o.md"], "--handovers writes HTML pages"),
        (["--paper", "Letter"], "--paper is that of the PDF; add --pdf"),
    ],
)
def test_what_does_not_go_together_is_said(more: list[str], said: str, capsys: pytest.CaptureFixture[str]):
    assert main(["overview", str(EXAMPLES), *DAY, *more]) == 2
    assert said in capsys.readouterr().err


def test_an_empty_fleet_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["overview", str(tmp_path), *DAY]) == 2
    assert capsys.readouterr() == ("", "sitelog: no log could be read\n")
    (tmp_path / "small-1.sheet").write_text(SHEET, encoding="utf-8")
    (tmp_path / "van-1.kit").write_text(KIT, encoding="utf-8")
    out = tmp_path / "o.html"
    assert main(["overview", str(tmp_path), "-o", str(out), *DAY]) == 2
    assert capsys.readouterr() == ("", "sitelog: no log among what was read names a site\n")
    assert not out.exists()


def test_a_folder_that_is_not_there_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    out = tmp_path / "nowhere" / "o.html"
    for more in ((), ("--handovers",)):
        assert main(["overview", str(EXAMPLES), "-o", str(out), *DAY, *more]) == 2
        assert "nowhere" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["o.site", "o.site.txt", "o.kit"])
def test_a_page_takes_no_name_of_a_log(tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]):
    assert main(["overview", str(EXAMPLES), "-o", str(tmp_path / name), *DAY]) == 2
    assert "would be read as a" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_one_site_alone(tmp_path: Path):
    log(tmp_path / "fleet", "quay-14")
    written(tmp_path / "fleet", tmp_path / "o.html")
    assert "<h1>1 site: quay-14</h1>" in (tmp_path / "o.html").read_text(encoding="utf-8")


def test_without_the_extra_it_is_named(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    assert main(["overview", "nowhere", *DAY]) == 2
    assert (
        capsys.readouterr().err
        == 'sitelog: overview needs the extra `report`: pip install "sitelog[report]"\n'
    )


def test_markdown_has_the_same_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["overview", str(EXAMPLES), *DAY, "--format", "markdown"]) == 0
    text = capsys.readouterr().out
    assert text.startswith("# 8 sites\n")
    assert "1. chapel-row-5\n   - △ left half way since 2026-11-23" in text
    assert "| tannery-3 | clamp-5 | 14.1 Nm | 14.4 Nm | 17.6 Nm | W2 | ta | 2026-10-06 |" in text
    assert "a licensed person decide" in text


def _hostile(folder: Path) -> None:
    """Markup in every field that the overview shows."""
    folder.mkdir()
    name = f'"{HOSTILE.replace(chr(34), "")}"'
    (folder / "h.sheet").write_text(
        f"sheet {name}\nsource {name}\njoint foot-1..9 10 Nm +-10 % every 1 months\n"
        f"reading insulation a/earth >= 1 MΩ\n",
        encoding="utf-8",
    )
    (folder / "h.kit").write_text(
        f"kit {name}\ntool {name} torque-wrench 1..20 Nm +-4 % serial {name}\n"
        f"tool M insulation 0..999 MΩ\n"
        f"calibrated {name} 2026-01-01 due 2026-11-01 cert {name}\n",
        encoding="utf-8",
    )
    for number, site in enumerate((name, f'"x {name[1:]}')):
        (folder / f"{number}.site").write_text(
            f"site {site} {name}\nsheet {name}\nkit {name}\ncrew {name} lead\n"
            f"day 2026-05-01\n08:00 use {name}, M\n08:10 torque foot-1..9 8 Nm with {name} by {name}\n"
            f"08:15 reading insulation a/earth 200 MΩ\n"
            f"08:20 defect D{number} major {HOSTILE}\n08:30 defect E1 danger {HOSTILE}\n"
            f"08:40 away {HOSTILE}\n08:50 sign {name} installed digest 000000000000\n"
            f"visit service\nday 2026-06-01\n08:00 reading insulation a/earth 2 MΩ\n",
            encoding="utf-8",
        )


def test_what_logs_hold_stays_words(tmp_path: Path):
    _hostile(tmp_path / "fleet")
    page = written(tmp_path / "fleet", tmp_path / "o.html", "--handovers")
    calm = written(EXAMPLES, tmp_path / "calm.html")
    assert page.elements <= calm.elements | {"wbr"}  # where a long word may break
    assert not {name for name in page.attributes if name.startswith("on")}
    assert all(link.startswith(("#", "handover-")) for link in page.links)
    text = (tmp_path / "o.html").read_text(encoding="utf-8")
    assert text.count("alert(1)") > 60  # it is there, as words, in tables and in pictures
    assert "49" not in [word.strip("'\"") for word in text.split()]


def test_markdown_takes_nothing_from_logs_for_markup(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    _hostile(tmp_path / "fleet")
    assert main(["overview", str(tmp_path / "fleet"), *DAY, "--format", "markdown"]) == 0
    text = capsys.readouterr().out
    assert "\\<script\\>" in text
    assert "<script" not in text.replace("\\<script", "")


@pytest.mark.parametrize(
    ("site", "name"),
    [
        ("quay-14", "handover-quay-14.html"),
        ("Boat store 3", "handover-Boat-store-3.html"),
        ("Größe/Süd", "handover-Größe-Süd.html"),
        ("Gro\u0308ße", "handover-Größe.html"),
        ("../../etc/passwd", "handover-etc-passwd.html"),
        ("a\\b:c*d?e", "handover-a-b-c-d-e.html"),
        ("???", "handover-site.html"),
        ("家", "handover-家.html"),
        ("x" * 300, f"handover-{'x' * 120}.html"),
    ],
)
def test_names_of_files(site: str, name: str):
    assert page_names([site]) == {site: name}


def test_names_of_files_never_meet():
    names = page_names(["Quay 1", "quay-1", "QUAY_1", "quay/1"])
    assert len({name.casefold() for name in names.values()}) == 4
    assert page_names(["quay/1", "QUAY_1", "quay-1", "Quay 1"]) == names

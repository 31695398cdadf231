"""`sitelog handover`: which site, where it is written, and how it ends."""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path

import pytest

from sitelog.cli.main import main
from tests.report.reading import Page

EXAMPLES = str(Path(__file__).parents[2] / "example_logs")
TODAY = ("--today", "2026-11-25")


def test_the_page_is_printed_and_its_state_is_said(capsys):
    assert main(["handover", "tannery-3", EXAMPLES, *TODAY]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("<!doctype html>")
    assert out.endswith("</html>\n")
    assert err == "sitelog: tannery-3: not complete (gandle-3, house-rules)\n"


def test_the_page_is_written_into_place(tmp_path, capsys):
    path = tmp_path / "page.html"
    path.write_text("an older page")
    assert main(["handover", "MAPLE-118", EXAMPLES, "-o", str(path), *TODAY]) == 0
    assert Page(path.read_text(encoding="utf-8")).unclosed == []
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"sitelog: maple-118: complete by its sheets (dorrick-2), written to {path}\n"
    assert [one.name for one in tmp_path.iterdir()] == ["page.html"]


def test_what_can_not_be_written_leaves_what_was_there(tmp_path, capsys):
    assert main(["handover", "maple-118", EXAMPLES, "-o", str(tmp_path / "no" / "page.html"), *TODAY]) == 2
    assert "not written" in capsys.readouterr().err
    (tmp_path / "a.site").write_text("site a-1\n")
    assert main(["handover", "maple-118", EXAMPLES, "-o", str(tmp_path / "a.site"), *TODAY]) == 2
    assert "would be read as a log; give the page another name" in capsys.readouterr().err
    assert (tmp_path / "a.site").read_text() == "site a-1\n"


def test_a_log_is_named_by_its_path(capsys):
    log = f"{EXAMPLES}/sites/maple-118.site"
    assert main(["handover", log, *TODAY]) == 0
    assert "118 Maple, side of the garage" in capsys.readouterr().out
    assert main(["handover", log, EXAMPLES, *TODAY]) == 0
    assert "complete by its sheets (dorrick-2)" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("tanery-3", "no site `tanery-3`; did you mean `tannery-3`?"),
        ("zzz", "no site `zzz`; there are: chapel-row-5, hopfield-7, "),
    ],
)
def test_an_unknown_site_is_an_error_with_the_nearest_name(name, said, capsys):
    assert main(["handover", name, EXAMPLES, *TODAY]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"sitelog: {said}")


def test_a_log_without_a_site_and_no_log_at_all(tmp_path, capsys):
    (tmp_path / "a.site").write_text("")
    assert main(["handover", str(tmp_path / "a.site")]) == 2
    assert capsys.readouterr().err == f"sitelog: {tmp_path / 'a.site'} names no site\n"
    assert main(["handover", "a-1", str(tmp_path / "nowhere")]) == 2
    assert capsys.readouterr().err == "sitelog: no log could be read\n"


@pytest.mark.parametrize("library", ["jinja2", "PIL"])
def test_a_missing_extra_is_named_before_any_work(library, tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, library, None)  # as if it were not installed
    monkeypatch.setattr("sitelog.fleet.workspace.load", lambda *_: pytest.fail("nothing is read"))
    path = tmp_path / "page.html"
    assert main(["handover", "maple-118", EXAMPLES, "-o", str(path), *TODAY]) == 2
    assert capsys.readouterr().err == (
        'sitelog: handover needs the extra `report`: pip install "sitelog[report]"\n'
    )
    assert not path.exists()


def test_markdown_needs_no_extra(monkeypatch, capsys):
    for library in ("jinja2", "PIL"):
        monkeypatch.setitem(sys.modules, library, None)
    assert main(["handover", "maple-118", EXAMPLES, "--format", "markdown", *TODAY]) == 0
    out = capsys.readouterr().out
    assert out.startswith("# 118 Maple, side of the garage\n")
    assert "**✓ Complete by its sheets**" in out


def test_a_terminal_is_told_how_to_get_a_file(monkeypatch, capsys):
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdout", Terminal())
    assert main(["handover", "pump-house-2", EXAMPLES, *TODAY]) == 0
    assert "sitelog: `-o FILE` writes it to a file\n" in capsys.readouterr().err


# ---- Markdown -------------------------------------------------------------------------------------------
def markdown(capsys: pytest.CaptureFixture[str], name: str) -> str:
    assert main(["handover", name, EXAMPLES, "--format", "markdown", *TODAY]) == 0
    return capsys.readouterr().out


def test_markdown_has_the_cells_of_the_page(capsys):
    text = markdown(capsys, "tannery-3")
    assert main(["handover", "tannery-3", EXAMPLES, *TODAY]) == 0
    table = Page(capsys.readouterr().out).tables["Joints beside their limits"]
    lines = text.split("\n")
    at = lines.index("Joints beside their limits:")
    assert [one.strip() for one in lines[at + 2].strip("|").split("|")] == list(table[0])
    for row, line in zip(table, lines[at + 4 :], strict=False):
        cells = [re.sub(r"\\(.)", r"\1", one.strip()) for one in line.strip("|").split(" | ")]
        assert [re.sub(r"(.*)\|(.*)", r"\1 (\2)", one) for one in row.values()] == [
            one.strip() for one in cells
        ]


def test_every_table_in_markdown_has_as_many_cells_as_heads(capsys):
    for name in ("maple-118", "station-40", "orchard-22"):
        width, compared = 0, 0
        for line in markdown(capsys, name).split("\n"):
            bars = len(re.findall(r"(?<!\\)\|", line)) if line.startswith("|") else 0
            assert not (width and bars and bars != width), line
            compared += bool(width and bars)
            width = bars
        assert compared > 20


def test_the_log_stands_in_a_fence_that_it_can_not_close(tmp_path, capsys):
    (tmp_path / "a.site").write_text("site a-1\n# ```` and `more`\nday 2026-03-02\n")
    assert main(["handover", "a-1", str(tmp_path), "--format", "markdown", *TODAY]) == 0
    text = capsys.readouterr().out
    assert "\n`````\n1  site a-1\n2  # ```` and `more`\n3  day 2026-03-02\n`````\n" in text

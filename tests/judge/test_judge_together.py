"""Places with the same fault are said together, also where a place's name stands inside another word."""

from datetime import date

from sitelog.fleet.workspace import load


def test_a_terminal_called_n_is_said_with_its_neighbours(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.sheet").write_text(
        "sheet a\njoint L 2 Nm +-10 %\njoint N 2 Nm +-10 %\njoint PE 2 Nm +-10 %\n"
    )
    (tmp_path / "s.site").write_text("site s\nsheet a\ncrew mo lead\nday 2026-03-02\nnote begun\n")
    workspace = load(["."], date(2026, 3, 3))
    missing = [finding.message for finding in workspace.findings if finding.slug == "missing"]
    assert missing == ["missing: joint L, N, PE (2 Nm +-10 %)"]
    (site,) = workspace.judged
    assert [gap.text for gap in site.gaps] == ["joint L, N, PE (2 Nm +-10 %)"]

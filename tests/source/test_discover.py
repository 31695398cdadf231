"""Which files are read for the paths given, and what is said about the others."""

import io
import os
import sys

import pytest

from sitelog.files.source import discover, read


@pytest.fixture
def tree(tmp_path, monkeypatch):
    for name in ("b.site", "a.sheet", "sub/c.kit.txt", "sub/readme.md", ".hidden/d.site", "sub/.e.site"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("site x\n")
    (tmp_path / "bare").mkdir()
    monkeypatch.chdir(tmp_path)
    return tmp_path


def slugs(findings):
    return [one.slug for one in findings]


def test_a_folder_is_read_recursively_sorted_without_hidden_ones(tree):
    assert discover(["."]) == (["a.sheet", "b.site", os.path.join("sub", "c.kit.txt")], [])


def test_names_are_shown_as_given(tree):
    found, _ = discover([str(tree)])
    assert found[0] == str(tree / "a.sheet")
    assert discover(["./b.site"])[0] == ["./b.site"]


def test_a_named_file_is_read_whatever_its_ending(tree):
    assert discover(["sub/readme.md"]) == (["sub/readme.md"], [])


def test_nothing_is_listed_twice(tree):
    os.symlink(tree / "b.site", tree / "z.site")
    found, findings = discover(["b.site", ".", "sub", "./b.site", "-", "-"])
    assert found == ["b.site", "a.sheet", os.path.join("sub", "c.kit.txt"), "-"]
    assert findings == []


def test_loops_of_links_end(tree):
    os.symlink(tree, tree / "sub" / "up")
    os.symlink(tree / "sub", tree / "sub" / "self")
    assert len(discover(["."])[0]) == 3


def test_what_cannot_be_found(tree):
    os.symlink(tree / "gone", tree / "dead.site")
    assert slugs(discover(["nowhere"])[1]) == ["no-such-file"]
    assert slugs(discover(["."])[1]) == ["unreadable-file"]
    found, findings = discover(["bare", "b.site"])
    assert (found, slugs(findings)) == (["b.site"], ["no-logs"])


def test_a_folder_that_may_not_be_listed_is_a_finding(tree, monkeypatch):
    def refuse(path):
        raise PermissionError(13, "Permission denied", path)

    monkeypatch.setattr("sitelog.files.source.os.scandir", refuse)
    found, findings = discover(["sub"])
    assert (found, slugs(findings)) == ([], ["unreadable-file"])
    assert findings[0].message == "cannot be read: permission denied"


def test_read_never_raises(tree):
    gone = read("gone.site")
    assert (gone.lines, gone.role, slugs(gone.findings)) == ((), "log", ["no-such-file"])
    assert slugs(read("sub").findings) == ["unreadable-file"]
    assert read("b.site").lines == ("site x",)


def test_a_dash_is_standard_input(monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"site x\r\nnote y\n")))
    source = read("-")
    assert (source.file, source.role, source.lines) == ("-", "log", ("site x", "note y"))

"""The corpora are read and written by one module, which loses nothing."""

from pathlib import Path

import pytest

from tests import corpora

TESTS = Path(__file__).parents[1]
TEXTS = sorted(path for path in TESTS.rglob("*.txt") if path.parent.name != "house")
LONG = [path for path in TEXTS if "=" * 10 in path.read_text(encoding="utf-8")]
SHORT = [path for path in TEXTS if path not in LONG and path.name != "sites.txt"]


@pytest.mark.parametrize("path", LONG, ids=lambda path: path.relative_to(TESTS).as_posix())
def test_writing_what_was_read_changes_nothing(path: Path, tmp_path: Path) -> None:
    """`--update-corpus` touches what is expected, and no byte beside it."""
    copy = tmp_path / path.name
    copy.write_bytes(path.read_bytes())
    corpora.write(copy, corpora.read(path))
    assert copy.read_bytes() == path.read_bytes()


@pytest.mark.parametrize("path", SHORT, ids=lambda path: path.relative_to(TESTS).as_posix())
def test_accepting_what_is_expected_changes_nothing(path: Path, tmp_path: Path) -> None:
    """The same of short cases, whose comments stay too."""
    copy = tmp_path / path.name
    copy.write_bytes(path.read_bytes())
    for case in corpora.read_short(copy)[::10]:
        corpora.accept_short(case, case.expected)
    assert copy.read_bytes() == path.read_bytes()


def test_what_is_found_is_written_where_it_was_expected(tmp_path: Path) -> None:
    """A wrong expectation fails until it is accepted; the cases around it stay as they are."""
    path = tmp_path / "cases.txt"
    cases = [corpora.Case(path, title, (), (f"{title}\n", "old\n", "")) for title in ("a", "b", "c")]
    corpora.write(path, cases)
    assert corpora.read(path) == cases
    corpora.accept(cases[1], "new\n", "1:1-2 error slug: words\n")
    changed = cases[1]._replace(parts=("b\n", "new\n", "1:1-2 error slug: words\n"))
    assert corpora.read(path) == [cases[0], changed, cases[2]]


def test_a_short_case_is_accepted_in_its_place(tmp_path: Path) -> None:
    """With its comments, and with lines that are cut where the case cuts them."""
    path = tmp_path / "cases.txt"
    path.write_text("# head\n\njoints\n---\nbracket-1 | 12…\nold\n\n# next\nparts\n---\nnone\n", "utf-8")
    first, second = corpora.read_short(path)
    found = corpora.short_lines(["bracket-1 | 12.1 Nm", "new", "more"], first.expected)
    assert found == ["bracket-1 | 12…", "new", "more"]
    corpora.accept_short(first, found)
    assert [case.expected for case in corpora.read_short(path)] == [tuple(found), second.expected]
    assert path.read_text("utf-8").startswith("# head\n\njoints\n---\n")
    assert "\n\n# next\nparts\n" in path.read_text("utf-8")


def test_titles_are_names(tmp_path: Path) -> None:
    """Within a file each title stands once, so that a failing case is found by its name."""
    path = tmp_path / "cases.txt"
    case = corpora.Case(path, "a", (), ("x\n", "y\n"))
    corpora.write(path, [case, case])
    with pytest.raises(AssertionError, match="two cases of one title"):
        corpora.read(path)

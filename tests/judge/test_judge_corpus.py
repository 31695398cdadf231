"""Every case of the verdict corpus: files in, verdicts and findings out."""

from pathlib import Path

import pytest

from tests.judge.cases import ALL, FILES, Case, cases_of, findings_of, judged, results_of, write


@pytest.mark.parametrize("case", [pytest.param(case, id=f"{case.path.stem}:{case.title}") for case in ALL])
def test_case(case: Case, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """The verdicts with every reason, and the findings, are the expected ones."""
    workspace = judged(case.files, tmp_path)
    results = results_of(workspace, "figures" in case.attributes)
    findings = findings_of(workspace, case.files)
    if request.config.getoption("--update-corpus"):
        fresh = case._replace(results=results, findings=findings)
        write(case.path, [fresh if one.title == case.title else one for one in cases_of(case.path)])
        return
    assert (results, findings) == (case.results, case.findings)


def test_titles_are_names() -> None:
    """Within a file each title stands once, so that a failing case is found by its name."""
    for path in FILES:
        titles = [case.title for case in cases_of(path)]
        assert len(titles) == len(set(titles)), path.name


def test_a_case_judged_twice_is_judged_alike(tmp_path: Path) -> None:
    """The judge is pure: the same files give the same verdicts, whatever stood before."""
    for number, case in enumerate(ALL):
        first, second = tmp_path / f"{number}-a", tmp_path / f"{number}-b"
        first.mkdir()
        second.mkdir()
        one, other = judged(case.files, first), judged(case.files, second)
        assert results_of(one, True) == results_of(other, True), case.title
        assert findings_of(one, case.files) == findings_of(other, case.files), case.title


def test_expected_parts_are_written_as_they_are_read(tmp_path: Path) -> None:
    """Writing a file of the corpus and reading it again changes nothing: `--update-corpus` loses no case."""
    for path in FILES:
        copy = tmp_path / path.name
        write(copy, list(cases_of(path)))
        assert [one._replace(path=path) for one in cases_of(copy)] == list(cases_of(path))

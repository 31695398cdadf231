"""Every case of the verdict corpus: files in, verdicts and findings out."""

from pathlib import Path

import pytest

from tests.conftest import Expect
from tests.corpora import Case, files_of, params
from tests.judge.cases import ALL, findings_of, judged, results_of


@pytest.mark.parametrize("case", params(ALL))
def test_case(case: Case, tmp_path: Path, expect: Expect) -> None:
    """The verdicts with every reason, and the findings with their words, are the expected ones."""
    files = files_of(case.parts[0])
    workspace = judged(files, tmp_path)
    expect(case, results_of(workspace, "figures" in case.attributes), findings_of(workspace, files))


def test_a_case_judged_twice_is_judged_alike(tmp_path: Path) -> None:
    """The judge is pure: the same files give the same verdicts, whatever stood before."""
    for number, case in enumerate(ALL):
        files = files_of(case.parts[0])
        first, second = tmp_path / f"{number}-a", tmp_path / f"{number}-b"
        first.mkdir()
        second.mkdir()
        before, after = judged(files, first), judged(files, second)
        assert results_of(before, True) == results_of(after, True), case.title
        assert findings_of(before, files) == findings_of(after, files), case.title

"""Every case of the corpus, as it stands and in the shapes in which files arrive."""

from pathlib import Path

import pytest

from sitelog.files.source import from_bytes
from sitelog.language.kinds import KIT, LOG, SHEET
from sitelog.language.syntax import kinds
from tests.conftest import Expect
from tests.corpus.cases import ALL, FILES, FIRST_LINES, HERE, Case, cases_of
from tests.corpus.written import written

_BY_NAME = [pytest.param(case, id=case.stored.id) for case in ALL]
_BY_FILE = [pytest.param(path, id=f"{path.parent.name}/{path.stem}") for path in FILES]


def check(case: Case, data: bytes) -> tuple[str, str]:
    """Records and findings of a case, as the corpus writes them."""
    source = from_bytes(data, case.file)
    records, findings = written(source)
    put_behind = f"{len(source.lines)} {FIRST_LINES['log'].replace(' ', '; name=')}"
    if not case.whole and records and records[-1] == put_behind:
        records.pop()
    return "".join(f"{record}\n" for record in records), "".join(f"{finding}\n" for finding in findings)


@pytest.mark.parametrize("case", _BY_NAME)
def test_case(case: Case, expect: Expect) -> None:
    """What is read and what is said are the expected, to the letter."""
    expect(case.stored, *check(case, case.data))


@pytest.mark.parametrize("path", _BY_FILE)
def test_shapes(path: Path) -> None:
    """Read twice, with another line end, with a byte order mark, without the last line end: the same."""
    for case in cases_of(path):
        expected = check(case, case.data)
        assert check(case, case.data) == expected
        if "escapes" in case.attributes:  # what it holds may be the line ends themselves
            continue
        assert check(case, case.data.replace(b"\n", b"\r\n")) == expected, case.title
        assert check(case, b"\xef\xbb\xbf" + case.data) == expected, case.title
        assert check(case, case.data.removesuffix(b"\n")) == expected, case.title


@pytest.mark.parametrize("path", _BY_FILE)
def test_cut_short(path: Path) -> None:
    """Cut behind any line, or in the middle of one, a file says of what is left what it said before."""
    for case in cases_of(path):
        lines = case.data.splitlines(keepends=True)
        whole = check(case, case.data)[0].splitlines()
        for number in range(len(lines)):
            cut = b"".join(lines[:number])
            records, _ = check(case, cut)
            if case.role == "log" and "escapes" not in case.attributes and b"<<<<" not in case.data:
                assert records.splitlines() == whole[: len(records.splitlines())], case.title
            check(case, cut + lines[number][: len(lines[number]) // 2])


def test_every_kind_has_its_file() -> None:
    """A kind of entry without cases is one whose reading nobody has looked at."""
    for role, tables in (("log", LOG), ("sheet", SHEET), ("kit", KIT)):
        wanted = {kind.replace("/", "-") for kind in {*tables, *kinds(role)}}
        assert {path.stem for path in (HERE / role).glob("*.txt")} == wanted

"""The corpora: one way of reading and writing plain-text cases, whatever stands in them.

In: a file of cases. Out: cases, each with its title, its attributes and its parts as text; written again,
they give the same file. What the parts mean, and what is expected of them, is each corpus's own. A case:

```
====================
its title
:attribute
====================
what is tried
---
what is expected
---
what else is expected
```

Text in front of the first case is the file's head, for its readers. A part may hold small files, each below
`== name`. A corpus of many small questions uses the short form, see `ShortCase`.
"""

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

import pytest

from sitelog.findings import Finding

_RULE = "=" * 20
_CASE = re.compile(r"^={10,}\n(?P<title>[^:\n].*\n)(?P<attributes>(?::\w.*\n)*)={10,}\n", re.MULTILINE)
_PARTS = re.compile(r"^---\n", re.MULTILINE)
_FILE = re.compile(r"^== (\S+)\n(.*?)(?=^== |\Z)", re.DOTALL | re.MULTILINE)


class Case(NamedTuple):
    """One case as it stands: the parts are those between `---`; a part without a line is empty."""

    path: Path
    title: str
    attributes: tuple[str, ...]
    parts: tuple[str, ...]

    @property
    def id(self) -> str:
        """How a test of this case is named."""
        return f"{self.path.stem}:{self.title}"

    def value(self, attribute: str) -> str:
        """What stands behind the word of an attribute, empty where there is none: `70` of `:width 70`."""
        found = (words.partition(" ") for words in self.attributes)
        return next((rest for name, _, rest in found if name == attribute), "")


def read(path: Path) -> list[Case]:
    """The cases of a file, in order. A file without one, or with the same title twice, is an error."""
    text = path.read_text(encoding="utf-8")
    heads = list(_CASE.finditer(text))
    assert heads, f"{path.name} has no case"
    ends = [head.start() for head in heads[1:]] + [len(text)]
    cases = [_case(path, head, text[head.end() : end]) for head, end in zip(heads, ends, strict=True)]
    titles = [case.title for case in cases]
    assert len(titles) == len(set(titles)), f"{path.name} has two cases of one title"
    return cases


def _case(path: Path, head: re.Match[str], body: str) -> Case:
    *parts, last = _PARTS.split(body)
    last = last.rstrip("\n")  # up to the next case
    attributes = tuple(line.removeprefix(":") for line in head["attributes"].splitlines())
    return Case(path, head["title"].strip(), attributes, (*parts, f"{last}\n" if last else ""))


def write(path: Path, cases: Iterable[Case]) -> None:
    """Write the cases of a file; its head stays."""
    text = path.read_text(encoding="utf-8") if path.exists() else ""
    first = _CASE.search(text)
    head = text[: first.start()] if first else text
    pieces = []
    for case in cases:
        attributes = "".join(f":{attribute}\n" for attribute in case.attributes)
        pieces.append(f"{_RULE}\n{case.title}\n{attributes}{_RULE}\n" + "---\n".join(case.parts))
    path.write_text(head + "\n".join(pieces), encoding="utf-8", newline="\n")


def files_of(text: str) -> dict[str, str]:
    """The small files of a part, each below its `== name`."""
    return dict(_FILE.findall(text))


def params(cases: "Iterable[Case | ShortCase]") -> list[object]:
    """Cases as parameters of a test, named by their file and title."""
    return [pytest.param(case, id=case.id) for case in cases]


def finding_text(where: str, finding: Finding) -> str:
    """A finding on one line, with its words: `3:8-12 error slug: message | help: what to do`."""
    text = f"{where}: {finding.message}" + (f" | help: {finding.help}" if finding.help else "")
    return text.replace("\n", "⏎")


def accept(case: Case, *expected: str) -> None:
    """Write what is found as what is expected: the last parts of a case, in its file."""
    fresh = case._replace(parts=(*case.parts[: len(case.parts) - len(expected)], *expected))
    write(case.path, [fresh if other.title == case.title else other for other in read(case.path)])


# ---- short cases -----------------------------------------------------------------------------------------
class ShortCase(NamedTuple):
    """A case of few lines, without a title: what is tried, `---`, what is expected, up to an empty line.

    Lines that begin with `#` are for the reader. An expected line that ends in `…` says how a line begins.
    """

    path: Path
    line: int
    tried: str
    expected: tuple[str, ...]

    @property
    def id(self) -> str:
        """How a test of this case is named."""
        return f"{self.path.stem}:{self.line}"


def read_short(path: Path) -> list[ShortCase]:
    """The short cases of a file, in order."""
    found = []
    tried, expected, start = "", None, 0
    for number, line in enumerate([*path.read_text(encoding="utf-8").splitlines(), ""], 1):
        if line.startswith("#"):
            continue
        if line == "---":
            expected = []
        elif line and expected is None:
            assert not tried, f"{path.name}:{number}: one line is tried, then comes ---"
            tried, start = line, number
        elif line and expected is not None:
            expected.append(line)
        elif tried:
            assert expected, f"{path.name}:{start} expects nothing"
            found.append(ShortCase(path, start, tried, tuple(expected)))
            tried, expected = "", None
    assert found, f"{path.name} has no case"
    return found


def short_lines(found: Sequence[str], expected: Sequence[str]) -> list[str]:
    """What is found as the case writes it: cut where the case cuts a line with `…`."""
    cut = dict(enumerate(expected))
    return [
        cut[at] if cut.get(at, "").endswith("…") and line.startswith(cut[at].removesuffix("…")) else line
        for at, line in enumerate(found)
    ]


def accept_short(case: ShortCase, found: Sequence[str]) -> None:
    """Write what is found as what is expected, in the case's file; comments stay where they are."""
    lines = case.path.read_text(encoding="utf-8").splitlines()
    # lines move while earlier cases are written, so the case is found by what it tries
    at = next(other.line for other in read_short(case.path) if other.tried == case.tried)
    begin = lines.index("---", at - 1) + 1
    end = next((number for number in range(begin, len(lines)) if not lines[number]), len(lines))
    notes = [line for line in lines[begin:end] if line.startswith("#")]
    lines[begin:end] = [*notes, *found]
    case.path.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")

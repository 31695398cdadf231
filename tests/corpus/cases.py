"""The cases of the corpus: reading and writing its files. See README.md for the format."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parent
FILES = sorted(HERE.rglob("*.txt"))

_RULE = "=" * 20
_CASE = re.compile(r"^={10,}\n(?P<title>[^:\n].*\n)(?P<attributes>(?::\w+\n)*)={10,}\n", re.MULTILINE)
_ENDINGS = {"log": "site", "sheet": "sheet", "kit": "kit"}
FIRST_LINES = {"log": "site yard-1", "sheet": "sheet asks-1", "kit": "kit van-1"}


class Case(NamedTuple):
    """One case: the text as it stands in the corpus, and what is expected of it."""

    path: Path
    title: str
    attributes: tuple[str, ...]
    text: str
    records: str
    findings: str

    @property
    def role(self) -> str:
        """`log`, `sheet` or `kit`."""
        return next((one for one in self.attributes if one in _ENDINGS), "log")

    @property
    def whole(self) -> bool:
        """Whether the text is the whole file."""
        return "whole" in self.attributes

    @property
    def file(self) -> str:
        """A name for the file, with the ending of its sort."""
        return f"case.{_ENDINGS[self.role]}"

    @property
    def data(self) -> bytes:
        """The bytes of the file."""
        data = self.text.encode()
        if "escapes" in self.attributes:
            data = re.sub(rb"\\u([0-9a-f]{4})", lambda found: chr(int(found[1], 16)).encode(), data)
            data = re.sub(rb"\\x([0-9a-f]{2})", lambda found: bytes([int(found[1], 16)]), data)
        return data if self.whole else data + FIRST_LINES[self.role].encode() + b"\n"


def cases_of(path: Path) -> Iterator[Case]:
    """The cases of one file of the corpus, in order."""
    text = path.read_text(encoding="utf-8")
    heads = list(_CASE.finditer(text))
    assert heads, f"{path.name} has no case"
    assert not text[: heads[0].start()].strip(), f"{path.name} begins with something that is no case"
    for head, end in zip(heads, [one.start() for one in heads[1:]] + [len(text)], strict=True):
        parts = re.split(r"^---\n", text[head.end() : end], flags=re.MULTILINE)
        body, records, findings = (*parts, "", "")[:3]
        yield Case(
            path,
            head["title"].strip(),
            tuple(head["attributes"].replace(":", "").split()),
            body if len(parts) > 1 else body.rstrip("\n") + "\n",
            records,
            findings.rstrip("\n") + "\n" if findings.strip() else "",
        )


def write(path: Path, cases: list[Case]) -> None:
    """Write a file of the corpus."""
    pieces = []
    for case in cases:
        attributes = "".join(f":{one}\n" for one in case.attributes)
        head = f"{_RULE}\n{case.title}\n{attributes}{_RULE}\n"
        pieces.append(f"{head}{case.text}---\n{case.records}---\n{case.findings}")
    path.write_text("\n".join(pieces), encoding="utf-8", newline="\n")


ALL = [case for path in FILES for case in cases_of(path)]

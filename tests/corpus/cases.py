"""The cases of the corpus: what sort of file each is, and its bytes. See README.md for the format."""

import re
from pathlib import Path
from typing import NamedTuple

from tests import corpora

HERE = Path(__file__).parent
FILES = sorted(HERE.rglob("*.txt"))

_ENDINGS = {"log": "site", "sheet": "sheet", "kit": "kit"}
FIRST_LINES = {"log": "site yard-1", "sheet": "sheet asks-1", "kit": "kit van-1"}


class Case(NamedTuple):
    """One case: the text as it stands in the corpus, and how it is to be read."""

    stored: corpora.Case

    @property
    def title(self) -> str:
        """What it shows."""
        return self.stored.title

    @property
    def path(self) -> Path:
        """The file of the corpus."""
        return self.stored.path

    @property
    def attributes(self) -> tuple[str, ...]:
        """Words behind its title, such as `whole`."""
        return self.stored.attributes

    @property
    def text(self) -> str:
        """The text as the corpus has it."""
        return self.stored.parts[0]

    @property
    def role(self) -> str:
        """`log`, `sheet` or `kit`."""
        return next((word for word in self.attributes if word in _ENDINGS), "log")

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


def cases_of(path: Path) -> list[Case]:
    """The cases of one file of the corpus, in order."""
    return [Case(stored) for stored in corpora.read(path)]


ALL = [case for path in FILES for case in cases_of(path)]

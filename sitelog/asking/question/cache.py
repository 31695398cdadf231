"""The question cache: the trees of parsed questions in a file, so that one asked again needs no Lark."""

from __future__ import annotations

import marshal
import os
from functools import cache

from sitelog.asking.question import tree
from sitelog.asking.question.tree import Question
from sitelog.base import cache_files
from sitelog.language.grammar_files import grammar_text
from sitelog.notation import lookalikes

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

FILE = "question.trees"

MOST = 300
"""Questions in the file; the newest ones stay."""

LONGEST = 300
"""Characters of a question; a longer one is rarely asked twice, and its tree may be too deep to be stored."""

_MOST_BYTES = cache_files.LARGEST * 3 // 4

_NODES: dict[str, type[Any]] = {
    node.__name__: node
    for node in vars(tree).values()
    if isinstance(node, type) and issubclass(node, tuple) and hasattr(node, "_fields")
}


@cache
def made_for() -> str:
    """A digest of what trees depend on: the grammar, Lark, Python and the code that builds trees."""
    here = os.path.dirname(__file__)
    code = [os.path.join(here, name) for name in ("build.py", "read.py", "tree.py")]
    code.append(lookalikes.__file__)
    return cache_files.made_for("questions", code, (grammar_text("query.lark"),))


def find(folder: str, text: str) -> Question | None:
    """The cached tree of a question; None where the folder has none that can be read."""
    if not folder or len(text) > LONGEST:
        return None
    packed = _read(folder).get(text)
    if packed is None:
        return None
    try:
        found = _unpacked(marshal.loads(packed))
    except (ValueError, TypeError, EOFError, KeyError):
        return None
    return found if isinstance(found, Question) and found.text == text else None


def keep(folder: str, question: Question) -> bool:
    """Add the tree of a question to the cache; False where it cannot be written.

    Of two processes that write at once the later wins; the other's question is parsed again next time.
    """
    if not folder or len(question.text) > LONGEST:
        return False
    trees = _read(folder)
    trees.pop(question.text, None)
    trees[question.text] = marshal.dumps(_packed(question))
    newest: dict[str, bytes] = {}
    size = 0
    for text in reversed(trees):
        size += len(text.encode("utf-8", "surrogatepass")) + len(trees[text]) + 16
        if len(newest) == MOST or size > _MOST_BYTES:
            break
        newest[text] = trees[text]
    return cache_files.write(_path(folder), made_for(), dict(reversed(newest.items())))


def _path(folder: str) -> str:
    return os.path.join(folder, FILE)


def _read(folder: str) -> dict[str, bytes]:
    """Every cached question with its packed tree, oldest first."""
    parts = cache_files.read(_path(folder), made_for())
    return parts[0] if parts is not None and len(parts) == 1 and isinstance(parts[0], dict) else {}


def _packed(part: Any) -> Any:
    """A part of a tree as plain tuples that name their class: `("Word", "joints", 1, 7, False)`."""
    if not isinstance(part, tuple):
        return part
    name = type(part).__name__ if type(part) is not tuple else ""
    return name, *map(_packed, part)


def _unpacked(part: Any) -> Any:
    """The part of a tree that was packed; raises where it is none."""
    if not isinstance(part, tuple):
        return part
    name, *fields = part
    unpacked = tuple(map(_unpacked, fields))
    return _NODES[name](*unpacked) if name else unpacked

"""Questions that were parsed, kept between runs with their trees: asked again, they need no Lark."""

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
"""Questions in the file; of more the newest."""

LONGEST = 300
"""Characters of a question; a longer one comes once, and its tree may be deeper than can be kept."""

_MOST_BYTES = cache_files.LARGEST * 3 // 4

_KINDS: dict[str, type[Any]] = {
    one.__name__: one
    for one in vars(tree).values()
    if isinstance(one, type) and issubclass(one, tuple) and hasattr(one, "_fields")
}


@cache
def made_for() -> str:
    """What trees depend on, in short: equal for equal grammar, Lark, Python and code that makes trees."""
    here = os.path.dirname(__file__)
    code = [os.path.join(here, name) for name in ("build.py", "read.py", "tree.py")]
    code.append(lookalikes.__file__)
    return cache_files.made_for("questions", code, (grammar_text("query.lark"),))


def find(folder: str, text: str) -> Question | None:
    """The tree of a question, where the folder has it."""
    if not folder or len(text) > LONGEST:
        return None
    packed = _all(folder).get(text)
    if packed is None:
        return None
    try:
        found = _grown(marshal.loads(packed))
    except (ValueError, TypeError, EOFError, KeyError):
        return None
    return found if isinstance(found, Question) and found.text == text else None


def keep(folder: str, question: Question) -> bool:
    """Keep a question beside those that the folder has; False where it cannot be.

    Of two writers the later wins; the other's question is parsed once more when it comes again.
    """
    if not folder or len(question.text) > LONGEST:
        return False
    known = _all(folder)
    known.pop(question.text, None)
    known[question.text] = marshal.dumps(_plain(question))
    newest: dict[str, bytes] = {}
    size = 0
    for text in reversed(known):
        size += len(text.encode("utf-8", "surrogatepass")) + len(known[text]) + 16
        if len(newest) == MOST or size > _MOST_BYTES:
            break
        newest[text] = known[text]
    return cache_files.write(_path(folder), made_for(), dict(reversed(newest.items())))


def _path(folder: str) -> str:
    return os.path.join(folder, FILE)


def _all(folder: str) -> dict[str, bytes]:
    parts = cache_files.read(_path(folder), made_for())
    return parts[0] if parts is not None and len(parts) == 1 and isinstance(parts[0], dict) else {}


def _plain(part: Any) -> Any:
    """A part of a tree as tuples that say their kind: `("Word", "joints", 1, 7, False)`."""
    if not isinstance(part, tuple):
        return part
    kind = type(part).__name__ if type(part) is not tuple else ""
    return kind, *map(_plain, part)


def _grown(part: Any) -> Any:
    """The part that `_plain` was given; raises where it is none."""
    if not isinstance(part, tuple):
        return part
    kind, *fields = part
    grown = tuple(map(_grown, fields))
    return _KINDS[kind](*grown) if kind else grown

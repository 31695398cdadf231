"""Plans kept between runs: one small file per role, read only where it fits this very grammar."""

from __future__ import annotations

import os
from functools import cache

from sitelog.base import cache_files
from sitelog.base.frozen import NamedTuple
from sitelog.language.grammar_files import grammar_text
from sitelog.language.syntax.tails import Words

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias

Raw: TypeAlias = "tuple[tuple[str, int, int], ...]"
"""The tokens of a chunk before the first word is looked at: type, start, end within the chunk."""

Shape: TypeAlias = "tuple[Any, Any, int, int]"
"""What a series of token types makes: body, time (trees of names and token numbers), remark, comment."""

Refusal: TypeAlias = "tuple[str, int, tuple[str, ...]]"
"""Where the grammar refused such a series: type and number of the token (-1 the end), types it wanted."""

MOST_CHUNKS, MOST_SHAPES, MOST_REFUSALS = 3000, 1000, 300
"""As many are kept in a file; each about 35, 110 and 60 bytes."""


class Learnt(NamedTuple):
    """What has been learnt of a role's lines: tokens by chunk, trees and refusals by types, free texts."""

    chunks: dict[bytes, Raw]
    shapes: dict[tuple[str, ...], Shape]
    refusals: dict[tuple[str, ...], Refusal]
    free: dict[str, Words]  # the entries that end in free text


@cache
def made_for(role: str) -> str:
    """What plans depend on, in short: equal for equal grammar, Lark, Python and code that makes plans."""
    here = os.path.dirname(__file__)
    code = [os.path.join(here, name) for name in ("lexing.py", "plans.py", "tails.py", "trees.py")]
    grammars = (grammar_text("common.lark"), grammar_text(f"{role}.lark"))
    return cache_files.made_for(f"plans of {role}", code, grammars)


def read(path: str, role: str) -> Learnt | None:
    """What a file holds; nothing where there is none, or it is damaged, foreign or of another version."""
    parts = cache_files.read(path, made_for(role))
    return Learnt(*parts) if parts is not None and len(parts) == len(Learnt._fields) else None


def write(path: str, role: str, known: Learnt) -> bool:
    """Keep what is known, and what the file there already holds; False where it cannot be written.

    Of two writers the later wins; what the other had learnt will be learnt again.
    """
    there = read(path, role)
    old = Learnt({}, {}, {}, {}) if there is None else there
    once: dict[Any, Any] = {}
    return cache_files.write(
        path,
        made_for(role),
        _some(MOST_CHUNKS, old.chunks | known.chunks, once),
        _some(MOST_SHAPES, old.shapes | known.shapes, once),
        _some(MOST_REFUSALS, old.refusals | known.refusals, once),
        old.free | known.free,
    )


def _some(most: int, part: dict[Any, Any], once: dict[Any, Any]) -> dict[Any, Any]:
    """Of too much the oldest half, which is in every log, and the newest, which is in the log at hand."""
    keys = list(part)
    if len(keys) > most:
        keys = keys[: most // 2] + keys[-(most // 2) :]
    return {_shared(key, once): _shared(part[key], once) for key in keys}


def _shared(value: Any, once: dict[Any, Any]) -> Any:
    """The value with equal parts made one; marshal writes those once, and reads them five times as fast."""
    if isinstance(value, tuple):
        value = tuple(_shared(part, once) for part in value)
    return once.setdefault(value, value)

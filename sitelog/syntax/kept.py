"""Plans kept between runs: one small file per role, read only where it fits this very grammar.

The file is marshalled tuples and words, nothing that runs. Its name is the role's; a sum over what it
was made for (grammar, Lark, Python) stands inside and is compared, so that one of another version is
passed over.
"""

from __future__ import annotations

import marshal
import os
import sys
from functools import cache
from typing import Any, NamedTuple, TypeAlias
from zlib import adler32, crc32

from sitelog.grammar_files import grammar_text

Raw: TypeAlias = "tuple[tuple[str, int, int], ...]"
"""The tokens of a chunk before the first word is looked at: type, start, end within the chunk."""

Shape: TypeAlias = "tuple[Any, Any, int, int]"
"""What a series of token types makes: body, time (trees of names and token numbers), remark, comment."""

Refusal: TypeAlias = "tuple[str, int, tuple[str, ...]]"
"""Where the grammar refused such a series: type and number of the token (-1 the end), types it wanted."""

MOST_CHUNKS, MOST_SHAPES, MOST_REFUSALS = 3000, 1000, 300
"""As many are kept in a file; each about 35, 110 and 60 bytes."""

LARGEST = 400_000
"""Bytes; a larger file is not ours, or has grown past being quick to read."""


class Known(NamedTuple):
    """What has been learnt of a role's lines."""

    chunks: dict[bytes, Raw]
    shapes: dict[tuple[str, ...], Shape]
    refusals: dict[tuple[str, ...], Refusal]


@cache
def made_for(role: str) -> str:
    """What plans depend on, in short: equal for equal grammar, Lark, Python and code that makes plans."""
    here = os.path.dirname(__file__)
    code = [os.path.join(here, name) for name in ("lexing.py", "plans.py")]
    texts = (
        sys.version,
        _lark_version(),
        *map(_text, code),
        grammar_text("common.lark"),
        grammar_text(f"{role}.lark"),
    )
    whole = "\0".join(texts).encode()
    return f"sitelog plans of {role}: {len(whole)} {crc32(whole):08x} {adler32(whole):08x}"


def _lark_version() -> str:
    """The text that names Lark's version, found without the 60 ms that importing it takes."""
    from importlib.machinery import PathFinder

    spec = PathFinder.find_spec("lark")
    return _text(spec.origin) if spec is not None and spec.origin else ""


def _text(path: str) -> str:
    """What a file of code says; nothing where there is only its compiled form."""
    if not os.path.isfile(path):
        return ""
    with open(path, encoding="utf-8") as stream:
        return stream.read()


def read(path: str, role: str) -> Known | None:
    """What a file holds; nothing where there is none, or it is damaged, foreign or of another version."""
    try:
        if os.path.getsize(path) > LARGEST:
            return None
        with open(path, "rb") as stream:
            head, body = stream.read(8), stream.read()
        if head != _checksum(body):
            return None
        version, *parts = marshal.loads(body)
        return Known(*parts) if version == made_for(role) else None
    except (OSError, ValueError, TypeError, EOFError):
        return None


def write(path: str, role: str, known: Known) -> bool:
    """Keep what is known, and what the file there already holds; False where it cannot be written.

    The file is written beside and moved into place, so that a reader never sees half of it. Of two
    writers the later wins; what the other had learnt will be learnt again.
    """
    there = read(path, role)
    old = Known({}, {}, {}) if there is None else there
    once: dict[Any, Any] = {}
    body = marshal.dumps(
        (
            made_for(role),
            _some(MOST_CHUNKS, old.chunks | known.chunks, once),
            _some(MOST_SHAPES, old.shapes | known.shapes, once),
            _some(MOST_REFUSALS, old.refusals | known.refusals, once),
        )
    )
    if len(body) > LARGEST:
        return False
    new = f"{path}.{os.getpid()}.new"
    try:
        os.makedirs(os.path.dirname(path) or ".", exist_ok=True)
        with open(new, "wb") as stream:
            stream.write(_checksum(body) + body)
        os.replace(new, path)
    except OSError:
        if os.path.exists(new):
            os.unlink(new)
        return False
    return True


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


def _checksum(body: bytes) -> bytes:
    return b"%08x" % crc32(body)

"""Text from a log made harmless for a terminal."""

from __future__ import annotations

from functools import cache

TYPE_CHECKING = False
if TYPE_CHECKING:
    import re

# C0 and C1 controls and DEL; marks that reorder what is shown (bidirectional embeddings,
# overrides, isolates); line and paragraph separators; lone surrogates, which no terminal can write.
_UNPRINTABLE = r"[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff]"


def printable(text: str) -> str:
    r"""The text with every control character as a visible escape, such as `\x1b` or `\u202e`."""
    return text if text.isprintable() else _unprintable().sub(_escape, text)


@cache
def _unprintable() -> re.Pattern[str]:
    """Compiled when first needed, which for most logs is never."""
    import re

    return re.compile(_UNPRINTABLE)


def _escape(match: re.Match[str]) -> str:
    code = ord(match[0])
    if code == 9:
        return r"\t"
    return f"\\x{code:02x}" if code < 256 else f"\\u{code:04x}"

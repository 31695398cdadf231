"""Text for a terminal: made harmless, and measured in columns."""

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


def display_width(text: str) -> int:
    """Columns a terminal gives the text: wide East Asian characters take two, combining marks none."""
    return len(text) if text.isascii() else sum(map(_width, text))


def _width(character: str) -> int:
    import unicodedata

    if unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1

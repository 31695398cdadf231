"""Text from a log made harmless for a terminal."""

import re

# C0 and C1 controls and DEL; marks that reorder what is shown (bidirectional embeddings,
# overrides, isolates); line and paragraph separators; lone surrogates, which no terminal can write.
_UNPRINTABLE = re.compile(
    r"[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff]"
)


def printable(text: str) -> str:
    r"""The text with every control character as a visible escape, such as `\x1b` or `\u202e`."""
    if text.isascii() and text.isprintable():
        return text
    return _UNPRINTABLE.sub(_escape, text)


def _escape(match: re.Match[str]) -> str:
    code = ord(match[0])
    if code == 9:
        return r"\t"
    return f"\\x{code:02x}" if code < 256 else f"\\u{code:04x}"

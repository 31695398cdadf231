"""Names as they are asked for: one, a glob, a range, a group."""

import re

MOST = 10_000  # names that one range may stand for

_NUMBERS = r"(.*?)([0-9]+)\.\.(.*?)([0-9]+)"
_LETTERS = r"(.*?)([A-Za-z])\.\.(.*?)([A-Za-z])"
_BARE = r"[0-9]+(\.\.[0-9]+)?"


class RangeError(ValueError):
    """A range that stands for nothing, or for too much; the text says why."""


def is_glob(text: str) -> bool:
    """Whether a name has a `*`, which stands for any characters."""
    return "*" in text


def expand(text: str) -> tuple[str, ...]:
    """The names a range stands for: `bracket-1..3`, `cell-01..16`, `module-A..C`; else the name itself.

    Raises RangeError for a range that descends or is too long.
    """
    if match := re.fullmatch(_NUMBERS, text):
        prefix, first, again, last = match.groups()
        if again in ("", prefix):
            low, high = int(first), int(last)
            _check(text, low, high)
            width = len(first) if first.startswith("0") else 0
            return tuple(f"{prefix}{number:0{width}d}" for number in range(low, high + 1))
    if match := re.fullmatch(_LETTERS, text):
        prefix, first, again, last = match.groups()
        if again in ("", prefix) and first.isupper() == last.isupper():
            _check(text, ord(first), ord(last))
            return tuple(f"{prefix}{chr(code)}" for code in range(ord(first), ord(last) + 1))
    return (text,)


def continued(item: str, previous: str) -> str:
    """The item of a list with the stem of the one before it: `6` after `bracket-1..3` is `bracket-6`."""
    match = re.fullmatch(_NUMBERS, previous) or re.fullmatch(r"(.*?)([0-9]+)", previous)
    return match[1] + item if match and match[1] and re.fullmatch(_BARE, item) else item


def glob_pattern(text: str) -> str:
    """A pattern for SQL's GLOB in which only `*` is special."""
    return "".join({"?": "[?]", "[": "[[]"}.get(character, character) for character in text)


def _check(text: str, low: int, high: int) -> None:
    if high < low:
        raise RangeError(f"`{text}` descends: write the smaller end first")
    if high - low >= MOST:
        raise RangeError(f"`{text}` stands for more than {MOST} names")

"""Regular expressions as `re` has them, their compiled form kept between starts.

To load `re` and compile the patterns of a log anew takes as long as reading a log of known lines. What is
kept of a pattern is what `re` made of it for this very Python, seen to make the same pattern again. Where
nothing is kept, or anything is odd about it, `re` is asked.
"""

from __future__ import annotations

import os

from sitelog import kept_files

try:
    import _sre  # type: ignore[import-not-found]  # what `re` itself makes a pattern with
except ImportError:
    _sre = None

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from re import Match, Pattern
    from typing import Any

IGNORECASE, MULTILINE, DOTALL = 2, 8, 16
"""As `re` numbers them."""

_MOST = 300
"""As many are kept; the sheets asked for patterns of serials beside those that stand in the code."""

_MOST_MADE = 1000  # a fleet may have many sheets

_SPECIAL = {code: f"\\{chr(code)}" for code in b"()[]{}?*+-|^$\\.&~# \t\n\r\v\f"}

_Key = tuple[str, int]

_made: dict[_Key, Pattern[str]] = {}
_kept: dict[_Key, tuple[Any, ...]] | None = None  # not looked for yet
_new: list[_Key] = []


def compile(pattern: str, flags: int = 0) -> Pattern[str]:
    """The pattern, compiled once."""
    found = _made.get((pattern, flags))
    if found is None:
        if len(_made) >= _MOST_MADE:
            _made.clear()
        found = _made[pattern, flags] = _again(pattern, flags) or _anew(pattern, flags)
    return found


def fullmatch(pattern: str, text: str, flags: int = 0) -> Match[str] | None:
    """The match of the whole text."""
    return compile(pattern, flags).fullmatch(text)


def match(pattern: str, text: str, flags: int = 0) -> Match[str] | None:
    """The match at the beginning of the text."""
    return compile(pattern, flags).match(text)


def search(pattern: str, text: str, flags: int = 0) -> Match[str] | None:
    """The first match in the text."""
    return compile(pattern, flags).search(text)


def finditer(pattern: str, text: str, flags: int = 0) -> Iterator[Match[str]]:
    """Every match in the text."""
    return compile(pattern, flags).finditer(text)


def findall(pattern: str, text: str, flags: int = 0) -> list[Any]:
    """What every match in the text says."""
    return compile(pattern, flags).findall(text)


def sub(pattern: str, told: Callable[[Match[str]], str], text: str) -> str:
    """The text with every match replaced by what is told of it."""
    return compile(pattern).sub(told, text)


def escape(text: str) -> str:
    """A pattern that matches the text and nothing else."""
    return text.translate(_SPECIAL)


def split(pattern: str, text: str, flags: int = 0) -> list[Any]:
    """The text between the matches."""
    return compile(pattern, flags).split(text)


def save() -> None:
    """Keep what this start had to ask `re` for."""
    if not _new or _sre is None or not kept_files.kept_in():
        return
    known = dict(_kept or {})
    for key in _new:
        if len(known) < _MOST and (codes := _codes(*key)) is not None:
            known[key] = codes
    _new.clear()
    kept_files.write(_file(), _version(), known)


def _again(pattern: str, flags: int) -> Pattern[str] | None:
    """The pattern from what is kept of it."""
    global _kept
    if _kept is None:
        if not kept_files.kept_in():
            return None  # it may be said later where
        parts = kept_files.read(_file(), _version()) if _sre is not None else None
        _kept = parts[0] if parts else {}
    codes = _kept.get((pattern, flags))
    if codes is None:
        return None
    all_flags, code, groups, by_name, names = codes
    try:
        made: Pattern[str] = _sre.compile(pattern, all_flags, list(code), groups, by_name, names)
    except (TypeError, ValueError, RuntimeError, OverflowError):
        return None
    return made


def _anew(pattern: str, flags: int) -> Pattern[str]:
    import re

    if len(_new) < _MOST:
        _new.append((pattern, flags))
    return re.compile(pattern, flags)


def _codes(pattern: str, flags: int) -> tuple[Any, ...] | None:
    """What `re` gives to be made a pattern of; nothing where that would not make the very same."""
    import re

    try:
        from re import _compiler, _parser  # type: ignore[attr-defined]

        parsed = _parser.parse(pattern, flags)
        names: list[str | None] = [None] * parsed.state.groups
        for name, number in parsed.state.groupdict.items():
            names[number] = name
        code = tuple(map(int, _compiler._code(parsed, flags)))
        all_flags = int(flags | parsed.state.flags)
        codes = all_flags, code, parsed.state.groups - 1, dict(parsed.state.groupdict), tuple(names)
        same = _sre.compile(pattern, all_flags, list(code), *codes[2:]) == re.compile(pattern, flags)
    except Exception:  # another Python has other inner parts
        return None
    return codes if same else None


def _file() -> str:
    return os.path.join(kept_files.kept_in(), "patterns.codes")


def _version() -> str:
    return kept_files.made_for("patterns", (__file__,), ())

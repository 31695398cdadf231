"""Place expressions: `bracket-1..6`, `module-A..C`, `cell-01..16`, `bracket-1..3,6`, expanded in order."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from sitelog.notation.quantities.quantity import Problem

LONGEST = 10_000
"""Places in one range; more is a slip of the finger."""

_MOST_DIGITS = 30

_DIGITS = re.compile(r"(.*?)(\d+)$", re.DOTALL)
_LETTER = re.compile(r"(.*?)([^\W\d_])$", re.DOTALL)
_ODD = re.compile(r"[*'·°²³]")  # signs of units, which the lexer takes into a word


@lru_cache(maxsize=65536)
def expand(text: str) -> tuple[str, ...] | Problem:
    """The places that an expression names, in order; a problem where it cannot be meant."""
    if odd := _ODD.search(text):
        return Problem("bad-name", f"`{text}` has a `{odd[0]}`", "a name has letters, digits and _ . / + -")
    if ".." not in text and "," not in text:
        return (text,) if text[-1:] != "." else _no_end(text)
    found: list[str] = []
    for part in text.split(","):
        if not part:
            return Problem("bad-range", f"`{text}` has a comma too many")
        low, dots, high = part.partition("..")
        # `bracket-1..3,6` and `bracket-1,6` name bracket-6; `q1,q2` and `L1,N` name two places.
        low = _stem(found[-1] if found else "", low) + low
        if not dots:
            found.append(low)
            continue
        piece = _range(text, low, high)
        if isinstance(piece, Problem):
            return piece
        found += piece
        if len(found) > LONGEST:
            return _too_long(text, len(found))
    return tuple(found)


def _stem(before: str, short: str) -> str:
    """What a bare number or letter in a list leaves out: `bracket-` of the place before it."""
    if re.fullmatch(r"\d+", short) and (last := _DIGITS.match(before)):
        return last[1]
    if re.fullmatch(r"[^\W\d_]", short) and (last := _LETTER.match(before)) and last[1].endswith("-"):
        return last[1]
    return ""


def _no_end(text: str) -> Problem:
    return Problem("bad-range", f"`{text}` has no end or no beginning", "write bracket-1..6")


def _range(text: str, low: str, high: str) -> list[str] | Problem:
    if high.startswith(".") and high.strip("."):
        meant = f"{low}..{high.strip('.')}"
        return Problem("bad-range", f"`{text}`: a range has two dots", f"write {meant}")
    if not low or not high or ".." in high or low[-1] in "-/_":
        return _no_end(text)
    for pattern in (_DIGITS, _LETTER):
        first = pattern.match(low)
        if first is None:
            continue
        stem, begin = first[1], first[2]
        last = pattern.match(high)
        if last is None or last[1] not in ("", stem):
            continue
        end = last[2]
        if pattern is _DIGITS:
            if max(len(begin), len(end)) > _MOST_DIGITS:
                return Problem("range-too-long", f"`{_short(text)}` has numbers too long for a range")
            count = int(end) - int(begin) + 1
            if count > LONGEST:
                return _too_long(text, count)
            if count > 0:
                width = len(begin) if begin.startswith("0") else 0
                return [f"{stem}{number:0{width}}" for number in range(int(begin), int(end) + 1)]
        elif begin.isupper() == end.isupper() and begin.isascii() and end.isascii():
            if ord(begin) <= ord(end):
                return [f"{stem}{chr(code)}" for code in range(ord(begin), ord(end) + 1)]
        else:
            break
        return Problem(
            "bad-range", f"`{text}` runs backwards", f"write {stem}{end}..{begin}" if end != begin else ""
        )
    return Problem("bad-range", f"`{text}` mixes two sorts of names", "write bracket-1..6 or module-A..C")


def _short(text: str) -> str:
    return text if len(text) <= 60 else text[:60] + "…"


def _too_long(text: str, count: int) -> Problem:
    return Problem("range-too-long", f"`{_short(text)}` has {count} places; the most is {LONGEST}")


@lru_cache(maxsize=65536)
def group(place: str) -> str:
    """The group a place belongs to: `bracket` for `bracket-4`; itself where it has no number or letter."""
    stem, dash, last = place.rpartition("-")
    return stem if dash and re.fullmatch(r"\d+|[A-Za-z]", last) else place


def hint(place: str) -> str:
    """What a range written another way probably was: `bracket-1..8` for `bracket-1-8`."""
    found = re.fullmatch(r"(.*[^\d-])-(\d+)-(\d+)", place)
    return f"{found[1]}-{found[2]}..{found[3]}" if found and int(found[2]) < int(found[3]) else ""


def compress(places: Iterable[str]) -> str:
    """The shortest expression for some places in order: `bracket-1..4, bracket-6`."""
    runs: list[list[str]] = []
    for place in places:
        if runs and _follows(runs[-1][-1], place):
            runs[-1].append(place)
        else:
            runs.append([place])
    return ", ".join(_run(run) for run in runs)


def _follows(one: str, other: str) -> bool:
    for pattern in (_DIGITS, _LETTER):
        first, second = pattern.match(one), pattern.match(other)
        if first and second and first[1] == second[1]:
            if pattern is _DIGITS:
                return int(second[2]) == int(first[2]) + 1 and (
                    len(first[2]) == len(second[2]) or first[2][0] != "0"
                )
            return ord(second[2]) == ord(first[2]) + 1
    return False


def _run(run: list[str]) -> str:
    if len(run) < 3:
        return ", ".join(run)
    last = _DIGITS.match(run[-1]) or _LETTER.match(run[-1])
    assert last is not None
    return f"{run[0]}..{last[2]}"

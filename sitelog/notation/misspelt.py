"""Slips of the keyboard: words that are nearly another one."""

from __future__ import annotations

import re
from collections.abc import Iterable


def nearest(word: str, known: Iterable[str]) -> str:
    """The nearest of the words known, if one is a slip or two away; empty where none is.

    Letter case is nothing. Words that differ in their numbers are two names and no slip: `q1` and `q2`.
    """
    lower = word.casefold()
    found = [
        (slips, at, other)
        for at, other in enumerate(known)
        if 0 < (slips := _slips(lower, other.casefold())) <= _allowed(lower, other)
    ]
    return min(found)[2] if found else ""


def _allowed(word: str, other: str) -> int:
    """How many slips make two words one: one in a part of three or four letters, else two.

    A short part tells names apart, as a number does: `module-A` and `module-B`, `dc-pos` and `ac-pos`.
    """
    parts, others = re.split(_BETWEEN, word), re.split(_BETWEEN, other.casefold())
    differing = (
        [pair for pair in zip(parts, others, strict=True) if pair[0] != pair[1]]
        if len(parts) == len(others)
        else [(word, other)]
    )
    shorter = min(len(part) for pair in differing for part in pair) if differing else 0
    if shorter < _SHORTEST or re.findall(r"\d+", word) != re.findall(r"\d+", other.casefold()):
        return 0
    return 1 if shorter < _LONG else _MOST


_BETWEEN = r"[-_/.+]"


_SHORTEST, _LONG, _MOST = 3, 5, 2


def _slips(word: str, other: str) -> int:
    """Letters typed too many, too few, wrong, or in the wrong order between two words; 3 stands for more.

    It is the restricted distance of Damerau and Levenshtein (optimal string alignment; from memory).
    """
    if abs(len(word) - len(other)) > _MOST:
        return _MOST + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for at, letter in enumerate(word, 1):
        above, row = row, [at]
        for there, against in enumerate(other, 1):
            cost = min(above[there] + 1, row[-1] + 1, above[there - 1] + (letter != against))
            if at > 1 and there > 1 and letter == other[there - 2] and word[at - 2] == against:
                cost = min(cost, before[there - 2] + 1)
            row.append(cost)
        if min(row) > _MOST:
            return _MOST + 1
        before = above
    return row[-1]

"""What SQL is lent: natural order of text, letter case folded, the median, least and greatest as written."""

import re
from functools import lru_cache

from sitelog.notation.lookalikes import plain

_CHUNKS = r"([0-9]+)"


def natural_order(left: str, right: str) -> int:
    """-1, 0 or 1 as `left` is before, like or behind `right`; numbers within text count by size.

    So `bracket-2` is before `bracket-10`, and version 2.3.9 before 2.3.12.
    """
    key, other = _key(left), _key(right)
    return (key > other) - (key < other)


@lru_cache(1 << 16)  # a sort asks for each text as often as it halves them
def _key(text: str) -> list[tuple[int, str, str]]:
    chunks = re.split(_CHUNKS, text)
    # A number sorts by its length without leading zeros, then digit by digit: no size is too big.
    return [
        (len(chunk.lstrip("0")), chunk.lstrip("0"), "") if place % 2 else (0, chunk.casefold(), chunk)
        for place, chunk in enumerate(chunks)
    ]


def fold(text: object) -> str | None:
    """The text without letter case, its look-alike characters made plain."""
    return None if text is None else plain(str(text)).casefold()


class Median:
    """The median; of an even number of values the mean of the middle two."""

    def __init__(self) -> None:
        self._values: list[float] = []

    def step(self, value: float | None) -> None:
        """Take one more value."""
        if value is not None:
            self._values.append(value)

    def finalize(self) -> float | None:
        """The median; None where there is no value."""
        values = sorted(self._values)
        if not values:
            return None
        middle = len(values) // 2
        return values[middle] if len(values) % 2 else (values[middle - 1] + values[middle]) / 2


class MostFrequent:
    """The most frequent text; of several the first in the order of characters."""

    def __init__(self) -> None:
        self._counts: dict[str, int] = {}

    def step(self, text: str | None) -> None:
        """Take one more."""
        if text is not None:
            self._counts[text] = self._counts.get(text, 0) + 1

    def finalize(self) -> str | None:
        """The most frequent text; None where there is none."""
        return min(self._counts, key=lambda text: (-self._counts[text], text), default=None)


_RANKS = {"<": 0, "": 1, ">": 2}


class Least:
    """The least value as it was written: number, unit and bound, between separators.

    Of values with the same number `<1` is less than 1, and 1 less than `>1`.
    """

    _sign = 1

    def __init__(self) -> None:
        self._best: tuple[float, int] | None = None
        self._text: str | None = None

    def step(self, base: float | None, number: str, unit: str, bound: str) -> None:
        """Take one more value."""
        if base is None:
            return
        key = (self._sign * base, self._sign * _RANKS[bound])
        if self._best is None or key < self._best:
            self._best, self._text = key, "\x1f".join((number, unit, bound))

    def finalize(self) -> str | None:
        """The least of what was taken."""
        return self._text


class Greatest(Least):
    """The greatest value as it was written."""

    _sign = -1

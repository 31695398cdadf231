"""What SQL is lent: natural order of text, letter case folded, the median."""

import re

_CHUNKS = re.compile(r"([0-9]+)")


def natural_order(left: str, right: str) -> int:
    """-1, 0 or 1 as `left` is before, like or behind `right`; numbers within text count by size.

    So `bracket-2` is before `bracket-10`, and version 2.3.9 before 2.3.12.
    """
    one, other = _key(left), _key(right)
    return (one > other) - (one < other)


def _key(text: str) -> list[tuple[int, str, str]]:
    chunks = _CHUNKS.split(text)
    # A number sorts by its length without leading zeros, then digit by digit: no size is too big.
    return [
        (len(chunk.lstrip("0")), chunk.lstrip("0"), "") if place % 2 else (0, chunk.casefold(), chunk)
        for place, chunk in enumerate(chunks)
    ]


def fold(text: object) -> str | None:
    """The text without letter case."""
    return None if text is None else str(text).casefold()


class Median:
    """The middle value; of an even number of values the mean of the middle two."""

    def __init__(self) -> None:
        self._values: list[float] = []

    def step(self, value: float | None) -> None:
        """Take one more value."""
        if value is not None:
            self._values.append(value)

    def finalize(self) -> float | None:
        """The median of what was taken."""
        values = sorted(self._values)
        if not values:
            return None
        middle = len(values) // 2
        return values[middle] if len(values) % 2 else (values[middle - 1] + values[middle]) / 2

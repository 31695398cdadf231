"""Words and numbers that fit into a picture: how wide they are, where they break, how an axis is labelled."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from decimal import Decimal
from functools import cache
from math import ceil, floor, isfinite, log10

from sitelog.base.text import printable
from sitelog.notation.quantities.numerals import format_number, rounded
from sitelog.report.pictures.style import TEXT

# Widths in parts of the letters' height, a little above those of common fonts of screens: the page's font is
# the reader's, so a picture leaves room.
_NARROW, _WIDE = frozenset("iljtfrI.,:;'|!()[]/\\ -°·"), frozenset("mwMW@%…—✓✗△○ΩQGO")
_BREAK = re.compile(r"(?<=[ \-/_.,;])")
_PREFIXES = ("p", "n", "µ", "m", "", "k", "M", "G", "T")
_UNITS = frozenset({"Ω", "V", "A", "W", "Wh", "Ah", "VA", "s"})


def plain(text: str) -> str:
    """Text as it may stand in XML: controls and marks that turn the direction of writing become visible."""
    return printable(text.strip()).replace("\ufffe", r"\ufffe").replace("\uffff", r"\uffff")


def width_of(text: str, size: float = TEXT) -> float:
    """How wide text will be at most, about."""
    return size * sum(map(_share, text))


@cache
def _share(sign: str) -> float:
    if sign in _NARROW:
        return 0.4
    if sign in _WIDE:
        return 0.95
    if unicodedata.east_asian_width(sign) in "WF":
        return 1.05
    return 0.0 if unicodedata.combining(sign) else 0.7 if sign.isupper() else 0.62


def shortened(text: str, width: float, size: float = TEXT) -> str:
    """Text that fits, its end replaced by … where it must be."""
    if width_of(text, size) <= width:
        return text
    while text and width_of(text + "…", size) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def lines_of(text: str, width: float, most: int = 2, size: float = TEXT) -> list[str]:
    """Text broken into lines at blanks, hyphens and strokes, a too long word anywhere; the last shortened."""
    lines = [""]
    for piece in _BREAK.split(text):
        if width_of(lines[-1] + piece.rstrip(), size) <= width:
            lines[-1] += piece
            continue
        if lines[-1]:
            lines.append("")
        while len(lines) < most and width_of(piece.rstrip(), size) > width:
            end = len(piece)
            while end > 1 and width_of(piece[:end], size) > width:
                end -= 1
            lines[-1], piece = piece[:end], piece[end:]
            lines.append("")
        lines[-1] = piece
    if len(lines) > most:
        lines[most - 1 :] = ["".join(lines[most - 1 :])]
    return [shortened(line.strip(), width, size) for line in lines]


def number(value: float) -> str:
    """A number in plain digits: its whole part, and behind the point up to six digits that count."""
    if not isfinite(value):
        return "–"
    short = rounded(Decimal(f"{value:.12g}"), 6).normalize()
    return format_number(Decimal(f"{short:f}"))


def engineering(value: float, unit: str) -> str:
    """A value with the prefix that makes it short: 1000 MΩ is 1 GΩ. Other units stay as they are."""
    if not isfinite(value):
        return number(value)
    for at, prefix in enumerate(_PREFIXES):
        base = unit.removeprefix(prefix)
        if value and unit.startswith(prefix) and base in _UNITS and prefix + base == unit:
            if not prefix and unit not in _UNITS:
                continue
            move = min(max(floor(log10(abs(value)) / 3 + 1e-9), -at), len(_PREFIXES) - 1 - at)
            return f"{number(value / 1000.0**move)} {_PREFIXES[at + move]}{base}"
    return f"{number(value)} {unit}".rstrip()


def allowed(low: float | None, high: float | None, unit: str) -> str:
    """A range that is allowed, in words; empty where nothing is asked."""
    if low is not None and high is not None:
        return f"{number(low)} … {number(high)} {unit}".rstrip()
    if low is not None:
        return f"at least {number(low)} {unit}".rstrip()
    return f"at most {number(high)} {unit}".rstrip() if high is not None else ""


def outside(value: float, low: float | None, high: float | None) -> bool:
    """Whether a value lies beyond a limit; on it, or off it by what binary numbers round, is inside."""
    slack = 1e-9 * max(abs(value), 1e-9)
    return (low is not None and value < low - slack) or (high is not None and value > high + slack)


def decades(low: float, high: float, most: int) -> list[float]:
    """The powers of ten from low to high, every second or third only where more than `most` would stand."""
    first, last = ceil(log10(low) - 1e-9), floor(log10(high) + 1e-9)
    step = max(1, ceil((last - first + 1) / max(most, 1)))
    return [10.0**exponent for exponent in range(first, last + 1, step)]


def round_values(low: float, high: float, most: int) -> list[float]:
    """The multiples of a round step between two values; the step is 1, 2, 2.5 or 5 times a power of ten.

    `most` is how many steps the range may be divided into; the smallest such step is taken. Where fewer than
    two multiples lie in the range, the next smaller step is taken that has two.
    """
    least = (high - low) / most
    if least <= 0:
        return []
    power = floor(log10(least))
    steps = [factor * 10.0**exponent for exponent in range(power - 1, power + 2) for factor in (1, 2, 2.5, 5)]
    fitting = next(at for at, step in enumerate(steps) if step >= least)
    found: list[float] = []
    for step in reversed(steps[: fitting + 1]):
        found = [nth * step for nth in range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)]
        if len(found) >= 2:
            break
    return found


def many(count: int, word: str) -> str:
    """`1 gap`, `2 gaps`."""
    if count != 1:
        word = f"{word[:-1]}ies" if word.endswith("ry") else f"{word}s"
    return f"{count} {word}"


def counted(words: Sequence[str]) -> str:
    """`20 pass, 1 under`: how often each word stands, the most frequent first."""
    counts: dict[str, int] = {}
    for word in words:
        counts[word] = counts.get(word, 0) + 1
    return ", ".join(f"{many} {word}" for word, many in sorted(counts.items(), key=lambda one: -one[1]))

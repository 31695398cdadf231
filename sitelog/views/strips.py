"""Values drawn against their limits in a terminal: one strip a row, and rows of one kind on one scale.

A mark's shape and the words behind it say what the colour says, so nothing is lost without colour. Where a
mark and a limit would share a column, the mark keeps to its side: what is below a limit is drawn below it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from math import ceil, floor, log10
from textwrap import wrap

from sitelog.base.frozen import NamedTuple
from sitelog.base.text import display_width, printable
from sitelog.base.verdicts import FAILING, OPEN
from sitelog.notation.quantities import KINDS, Problem, convert, format_quantity
from sitelog.notation.quantities.quantity import Quantity
from sitelog.views.findings import paint
from sitelog.views.table import GAP, lined_up

_LEAST = 16  # columns of a strip beside its row; a narrower one stands below it
_WIDEST = 60
_NARROWEST = 24  # a terminal is taken for as wide as this at least
_WIDE_RANGING = 20  # greatest over least, from which values with lower limits alone get a log axis
_INDENT = " " * 4


class Strip(NamedTuple):
    """One row: what it is, its value and limits, and the verdict in words.

    Rows of one `group` and one kind of quantity share a scale. `uncertainty` is the expanded one, in the base
    unit of the value's kind; None where it is not known. `unit` is the one to show it in, if not its own.
    """

    group: str
    label: str
    value: Quantity | None
    low: Quantity | None = None
    high: Quantity | None = None
    uncertainty: float | None = None
    verdict: str = ""
    unit: str = ""


class Bar(NamedTuple):
    """One row of counts or other measures: what it is of, the measure in words, and its size."""

    label: str
    text: str
    size: float


class Signs(NamedTuple):
    """The characters that strips are drawn with."""

    outside: str
    inside: str
    low: str
    high: str
    spread: str
    up: str
    down: str
    off_left: str
    off_right: str
    good: str
    wrong: str
    open: str
    plain: str
    nothing: str
    bar: str
    zero: str
    cut: str


UNICODE = Signs("·", "─", "├", "┤", "━", "›", "‹", "◀", "▶", "●", "×", "◆", "○", "—", "█", "│", "…")
ASCII = Signs(".", "-", "[", "]", "=", "~", "~", "<", ">", "o", "x", "?", "*", "-", "#", "|", "~")
"""Each sign has a shape of its own, and an ASCII one that any output can show."""

_SPELT = str.maketrans({"Ω": "ohm", "µ": "u", "°": "deg", "±": "+-", "×": "x", "²": "2", "–": "-"})


def signs_for(encoding: str | None) -> Signs:
    """The signs that an output of this encoding can show; one that has none takes any character."""
    try:
        "".join(UNICODE).encode(encoding or "utf-8")
    except (UnicodeEncodeError, LookupError):
        return ASCII
    return UNICODE


# ---- strips ----------------------------------------------------------------------------------------
def strips_text(strips: Sequence[Strip], width: int, signs: Signs = UNICODE, *, color: bool = False) -> str:
    """Every strip, group by group, and what the signs mean; empty where no row has a value or a limit."""
    groups: dict[tuple[str, str], list[Strip]] = {}
    for one in strips:
        if kind := _kind(one):
            groups.setdefault((one.group, kind), []).append(one)
    width = max(width, _NARROWEST)
    parts: list[str] = []
    is_off = False
    for (group, kind), rows in groups.items():
        text, beyond = _block(group, kind, rows, width, signs, color=color)
        parts.append(text)
        is_off = is_off or beyond
    if parts:
        every = [one for rows in groups.values() for one in rows]
        parts.append(_legend(every, width, signs, is_off=is_off))
    return "\n".join(parts)


def _kind(one: Strip) -> str:
    known = one.value or one.low or one.high
    return known.kind if known is not None else ""


def _block(
    group: str, kind: str, rows: Sequence[Strip], width: int, signs: Signs, *, color: bool
) -> tuple[str, bool]:
    """The rows of one group below their scale, and whether a value lies off it."""
    unit = _unit(kind, rows)
    labels = [_shown(one.label, signs) for one in rows]
    given = [format_quantity(one.value, one.unit) if one.value is not None else signs.nothing for one in rows]
    values = lined_up([_shown(text, signs) for text in given])
    verdicts = [_shown(one.verdict, signs) for one in rows]
    widths = [max(map(display_width, texts)) for texts in (labels, values, verdicts)]
    beside = width - sum(widths) - 3 * len(GAP)
    is_beside = beside >= _LEAST
    columns = min(beside if is_beside else width - len(_INDENT), _WIDEST)
    scale = _scale(rows, unit, columns)
    about = ", ".join(filter(None, (_shown(unit, signs), "log axis" if scale.log else "")))
    title = _cut(_shown(group, signs) + (f" ({about})" if about else ""), width, signs)
    lines = [title]
    start = sum(widths[:2]) + 2 * len(GAP) if is_beside else len(_INDENT)
    first, last = (_plain(end) for end in (scale.first, scale.last))
    lines.append(" " * start + first + " " * max(columns - len(first) - len(last), 1) + last)
    for one, label, value, verdict in zip(rows, labels, values, verdicts, strict=True):
        strip = _drawn(one, scale, signs, color)
        said = paint(verdict, _colour(one.verdict), color)
        if is_beside:
            value = " " * (widths[1] - display_width(value)) + value
            lines.append(GAP.join((_padded(label, widths[0]), value, strip, said)))
            continue
        room = width - display_width(value) - display_width(verdict) - 2 * len(GAP)
        lines += [GAP.join((_cut(label, max(room, 4), signs), value, said)), _INDENT + strip]
    beyond = (scale.column(one.value) for one in rows if one.value is not None)
    is_off = any(not 0 <= column < columns for column in beyond)
    return "".join(f"{line.rstrip()}\n" for line in lines), is_off


def _unit(kind: str, rows: Sequence[Strip]) -> str:
    """The unit that most values are written in, else most limits; a gauge, which has no scale, gives way."""
    units = [one.unit or one.value.unit for one in rows if one.value is not None]
    units = units or [q.unit for one in rows for q in (one.low, one.high) if q is not None]
    most = Counter(units).most_common(1)[0][0]
    return KINDS[kind] if most == "AWG" else most


class TextScale(NamedTuple):
    """From a number in the unit of a group to a column of its strips."""

    unit: str
    first: float
    last: float
    log: bool
    columns: int

    def column(self, q: Quantity) -> int:
        """Its column; -1 or `columns` where it lies off the strip."""
        number = _number(q, self.unit)
        if number < self.first:
            return -1
        if number > self.last:
            return self.columns
        if self.log:
            share = log10(number / self.first) / log10(self.last / self.first)
        else:
            share = (number - self.first) / (self.last - self.first)
        return round(share * (self.columns - 1))


def _number(q: Quantity, unit: str) -> float:
    found = convert(q, unit)
    return float(q.base if isinstance(found, Problem) else found)


def _scale(rows: Sequence[Strip], unit: str, columns: int) -> TextScale:
    """A scale with every limit on it, and every value that lies not too far off."""
    lows = [_number(one.low, unit) for one in rows if one.low is not None]
    highs = [_number(one.high, unit) for one in rows if one.high is not None]
    values = [_number(one.value, unit) for one in rows if one.value is not None]
    every = [*lows, *highs, *values]
    positive = [number for number in every if number > 0]
    if lows and not highs and min(lows) > 0 and max(positive) / min(positive) >= _WIDE_RANGING:
        low, high = floor(log10(min(positive) * 0.999)), ceil(log10(max(positive)))
        return TextScale(unit, 10.0**low, 10.0**high, True, columns)
    limits = [*lows, *highs] if highs else every
    first, last = min(limits), max(limits)
    if highs and not lows and min(every) >= 0:
        first = 0.0
    span = last - first or abs(last) or 1.0
    near = [number for number in values if first - span <= number <= last + span]
    low_end, high_end = min(first, *near, first), max(last, *near, last)
    margin = 0.05 * (high_end - low_end or span)
    step = 10.0 ** (floor(log10(high_end - low_end + 2 * margin)) - 1)
    if low_end != 0 or min(every) < 0:
        low_end = floor((low_end - margin) / step) * step
        low_end = max(low_end, 0.0) if min(every) >= 0 else low_end
    return TextScale(unit, low_end, ceil((high_end + margin) / step) * step, False, columns)


class Limit(NamedTuple):
    """The columns of the limits of one row; None where there is none on that side."""

    low: int | None
    high: int | None


def limit_columns(one: Strip, scale: TextScale) -> Limit:
    """Columns that leave room for a mark below, between and above the limits."""
    last = scale.columns - 1
    low = high = None
    if one.low is not None:
        low = min(max(scale.column(one.low), 1), last - (3 if one.high is not None else 1))
    if one.high is not None:
        high = max(min(scale.column(one.high), last - 1), 1 if low is None else low + 2)
    return Limit(low, high)


def mark_column(one: Strip, q: Quantity, scale: TextScale, limits: Limit) -> int:
    """The column of a value, on the same side of each limit as the value itself."""
    last = scale.columns - 1
    least, most = 0, last
    if one.low is not None and limits.low is not None:
        if q.base < one.low.base or (q.base == one.low.base and one.verdict == "under"):
            most = limits.low - 1
        else:
            least = limits.low + 1
    if one.high is not None and limits.high is not None:
        if q.base > one.high.base or (q.base == one.high.base and one.verdict == "over"):
            least = limits.high + 1
        elif most > limits.high - 1:
            most = limits.high - 1
    return min(max(scale.column(q), least), most)


def _drawn(one: Strip, scale: TextScale, signs: Signs, color: bool) -> str:
    """The strip itself: the ground, what the value may be, the limits, the mark."""
    limits = limit_columns(one, scale)
    last = scale.columns - 1
    cells = [signs.outside] * scale.columns
    if limits != Limit(None, None):
        start = 0 if limits.low is None else limits.low
        end = last if limits.high is None else limits.high
        cells[start : end + 1] = [signs.inside] * (end + 1 - start)
    q = one.value
    at = mark_column(one, q, scale, limits) if q is not None else 0
    if q is not None:
        fill = {">": signs.up, "<": signs.down}.get(q.bound, signs.spread)
        for place in _spread(one, q, at, scale, limits):
            cells[place] = fill
    if limits.low is not None:
        cells[limits.low] = signs.low
    if limits.high is not None:
        cells[limits.high] = signs.high
    if q is not None:
        column = scale.column(q)
        mark = (
            signs.off_left if column < 0 else signs.off_right if column > last else _sign(one.verdict, signs)
        )
        cells[at] = paint(mark, _colour(one.verdict), color)
    return "".join(cells)


def _spread(one: Strip, q: Quantity, at: int, scale: TextScale, limits: Limit) -> range:
    """The columns that the value may lie in: all on one side of it, or as far as its uncertainty goes."""
    if q.bound:
        return range(at + 1, scale.columns) if q.bound == ">" else range(at)
    if not one.uncertainty:
        return range(0)
    ends = [q.base + sign * Decimal(repr(one.uncertainty)) for sign in (-1, 1)]
    unit = KINDS[q.kind]
    low, high = (mark_column(one, Quantity(end, unit, q.kind, end), scale, limits) for end in ends)
    return range(min(low, at), max(high, at) + 1)


def _sign(verdict: str, signs: Signs) -> str:
    if verdict == "pass":
        return signs.good
    if verdict in FAILING:
        return signs.wrong
    return signs.open if verdict in OPEN else signs.plain


def _colour(verdict: str) -> str:
    return "32" if verdict == "pass" else "31" if verdict in FAILING else "33" if verdict in OPEN else ""


def _legend(rows: Sequence[Strip], width: int, signs: Signs, *, is_off: bool) -> str:
    """What the signs mean, as far as they are there."""
    verdicts = {_sign(one.verdict, signs) for one in rows if one.value is not None}
    said = []
    if any(one.low is not None or one.high is not None for one in rows):
        said.append(f"{signs.low} {signs.high} limits")
    words = ((signs.good, "pass"), (signs.wrong, "fails"), (signs.open, "open"), (signs.plain, "not judged"))
    said += [f"{sign} {word}" for sign, word in words if sign in verdicts]
    if any(one.uncertainty and one.value is not None and not one.value.bound for one in rows):
        said.append(f"{signs.spread} uncertainty of the tool (k = 2)")
    if any(one.value is not None and one.value.bound for one in rows):
        ways = signs.up if signs.up == signs.down else f"{signs.up} {signs.down}"
        said.append(f"{ways} anything from there on")
    if is_off:
        said.append(f"{signs.off_left} {signs.off_right} at an end: lies beyond it")
    return _wrapped(said, width)


def _wrapped(words: Sequence[str], width: int) -> str:
    """The words in lines, broken between two of them where they are not too long themselves."""
    lines: list[str] = []
    for word in words:
        if lines and display_width(lines[-1]) + display_width(word) + 2 <= width:
            lines[-1] += f", {word}"
        else:
            lines += wrap(word, width)
    return "".join(f"{line}\n" for line in lines)


# ---- bars ------------------------------------------------------------------------------------------
def bars_text(title: str, bars: Sequence[Bar], width: int, signs: Signs = UNICODE) -> str:
    """Measures as bars from zero, all on one scale; empty where there is none."""
    if not bars:
        return ""
    width = max(width, _NARROWEST)
    labels = [_shown(one.label, signs) for one in bars]
    texts = lined_up([_shown(one.text, signs) for one in bars])
    value = max(map(display_width, texts))
    # A label gives way to its bar, which needs a few columns to say anything.
    label = min(max(map(display_width, labels)), max(width - value - 2 * len(GAP) - _LEAST // 2, 4))
    room = max(min(width - label - value - 2 * len(GAP), _WIDEST), 1)
    least, most = min(0.0, *(one.size for one in bars)), max(0.0, *(one.size for one in bars))
    zero = round(-least / (most - least or 1) * (room - 1)) if least else 0
    lines = [_cut(_shown(title, signs), width, signs)]
    for one, name, text in zip(bars, labels, texts, strict=True):
        cells = _bar(one.size, least, most, zero, room, signs)
        name = _padded(_cut(name, label, signs), label)
        lines.append(GAP.join((name, " " * (value - display_width(text)) + text, cells)))
    return "".join(f"{line.rstrip()}\n" for line in lines)


def _bar(size: float, least: float, most: float, zero: int, room: int, signs: Signs) -> str:
    if not least:  # all of them go to the right, from the very edge
        filled = max(round(size / most * room), 1) if size and most else 0
        return signs.bar * filled
    cells = [" "] * room
    end = round((size - least) / (most - least) * (room - 1))
    for at in range(min(end, zero), max(end, zero) + 1):
        cells[at] = signs.bar
    cells[zero] = signs.zero
    return "".join(cells)


# ---- words -----------------------------------------------------------------------------------------
def _shown(text: str, signs: Signs) -> str:
    """A text that a terminal can show; in ASCII where the signs are."""
    text = printable(text)
    if signs is ASCII and not text.isascii():
        text = text.translate(_SPELT).encode("ascii", "backslashreplace").decode("ascii")
    return text


def _padded(text: str, width: int) -> str:
    return text + " " * (width - display_width(text))


def _cut(text: str, width: int, signs: Signs) -> str:
    if display_width(text) <= width:
        return text
    while text and display_width(text) > width - 1:
        text = text[:-1]
    return text + signs.cut


def _plain(number: float) -> str:
    """A number at the end of a scale, without what binary fractions add to it."""
    return f"{Decimal(f'{number:.6g}').normalize():f}"

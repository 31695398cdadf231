"""From the places of a stored row back to values."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from sitelog.ask.compiler import QUANTITY_PARTS, Output
from sitelog.quantities import KINDS, Problem, Quantity, convert, find_unit

Cell = str | int | float | Quantity | None
_DIGITS = 12  # what a sum of binary numbers is sure of


class Row(NamedTuple):
    """One row of an answer: where it stands, if it is an entry's, and its cells."""

    file: str
    line: int
    text: str
    cells: tuple[Cell, ...]


def rows(columns: Sequence[Output], stored: Iterable[Sequence[Any]], *, lines: bool) -> Iterator[Row]:
    """The rows of an answer, quantities put together again."""
    for one in stored:
        file, line, text = (one[0] or "", one[1] or 0, one[2] or "") if lines else ("", 0, "")
        yield Row(file, line, text, _cells(columns, one[3:] if lines else one))


def _cells(columns: Sequence[Output], stored: Sequence[Any]) -> tuple[Cell, ...]:
    cells: list[Cell] = []
    place = 0
    for column in columns:
        if column.type in ("quantity", "measure"):
            parts = stored[place : place + len(QUANTITY_PARTS)]
            cells.append(
                _quantity(parts, column.unit) if column.type == "quantity" else _measure(parts, column.unit)
            )
            place += len(QUANTITY_PARTS)
        else:
            cells.append(stored[place])
            place += 1
    return tuple(cells)


def _quantity(parts: Sequence[Any], unit: str) -> Quantity | None:
    base, number, written, bound, kind = parts
    if number is None:
        return None
    found = Quantity(
        Decimal(number), written, kind, Decimal(repr(base)), bound, f"{bound}{number} {written}".rstrip()
    )
    return _shown_in(found, unit)


def _measure(parts: Sequence[Any], unit: str) -> Quantity | None:
    """What was computed stands in the base unit: bring it to the one written, or asked for."""
    base, _, written, is_spread, kind = parts
    if base is None:
        return None
    value = _short(Decimal(repr(base)))
    spelling = KINDS[kind]
    found = Quantity(value, spelling, kind, value)
    if kind == "temperature" and is_spread:
        return found._replace(unit="K")  # a difference of temperatures
    return _shown_in(found, unit or written or "")


def _shown_in(found: Quantity, unit: str) -> Quantity:
    if not unit or unit == found.unit or unit == "AWG" or found.unit == "AWG":
        return found
    number = convert(found, unit)
    target = find_unit(unit)
    if isinstance(number, Problem) or isinstance(target, Problem):
        return found
    return found._replace(number=_short(number), unit=target.normal, text="")


def _short(number: Decimal) -> Decimal:
    """Rounded to what is sure, without zeros at the end or an exponent."""
    plain = Decimal(f"{number:.{_DIGITS}g}").normalize()
    return (
        plain.quantize(Decimal(1)) if plain == plain.to_integral_value() and plain.adjusted() < 25 else plain
    )

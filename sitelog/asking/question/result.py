"""From the places of a stored row back to values."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from sitelog.asking.question.statement import QUANTITY_PARTS, Output
from sitelog.base.frozen import NamedTuple
from sitelog.notation.quantities import KINDS, Problem, Quantity, convert

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

Cell = str | int | float | Quantity | None
_DIGITS = 12  # what a sum of binary numbers is sure of


class StoredRow(NamedTuple):
    """One row of an answer: where it stands, if it is an entry's, and its cells."""

    file: str
    line: int
    text: str
    cells: tuple[Cell, ...]


def rows(columns: Sequence[Output], stored: Iterable[Sequence[Any]], *, lines: bool) -> Iterator[StoredRow]:
    """The rows of an answer, quantities put together again."""
    for row in stored:
        file, line, text = (row[0] or "", row[1] or 0, row[2] or "") if lines else ("", 0, "")
        yield StoredRow(file, line, text, _cells(columns, row[3:] if lines else row))


def _cells(columns: Sequence[Output], stored: Sequence[Any]) -> tuple[Cell, ...]:
    cells: list[Cell] = []
    place = 0
    for column in columns:
        if column.type in ("quantity", "measure"):
            parts = stored[place : place + len(QUANTITY_PARTS)]
            quantity = _quantity(parts) if column.type == "quantity" else _measure(parts, column.unit)
            cells.append(quantity)
            place += len(QUANTITY_PARTS)
        else:
            cells.append(stored[place])
            place += 1
    return tuple(cells)


def _quantity(parts: Sequence[Any]) -> Quantity | None:
    base, number, written, bound, kind = parts
    if number is None:
        return None
    text = f"{bound}{number} {written}".rstrip()
    return Quantity(Decimal(number), written, kind, Decimal(repr(base)), bound, text)


def _measure(parts: Sequence[Any], unit: str) -> Quantity | None:
    """What was computed stands in the base unit: bring it to the one written, or asked for."""
    base, as_written, written, is_spread, kind = parts
    if base is None:
        return None
    if as_written is not None:
        return _extreme(base, as_written, kind, unit)
    value = _short(Decimal(repr(base)))
    found = Quantity(value, KINDS[kind], kind, value)
    if kind == "temperature" and is_spread:
        return found._replace(unit="K")  # a difference of temperatures
    target = unit or written or found.unit
    number = convert(found, target)
    # A gauge has no number between two sizes: what was computed from gauges stays an area.
    return found if isinstance(number, Problem) else found._replace(number=_short(number), unit=target)


def _extreme(base: float, as_written: str, kind: str, unit: str) -> Quantity:
    """The least or greatest value as it was written, or in the unit asked for."""
    number, written, bound = as_written.split("\x1f")
    found = Quantity(Decimal(number), written, kind, Decimal(repr(base)), bound)
    other = convert(found, unit) if unit and unit != written else None
    if not isinstance(other, Decimal):
        return found
    return found._replace(number=_short(other), unit=unit)


def _short(number: Decimal) -> Decimal:
    """Rounded to what is sure, without zeros at the end or an exponent."""
    plain = Decimal(f"{number:.{_DIGITS}g}").normalize()
    return (
        plain.quantize(Decimal(1)) if plain == plain.to_integral_value() and plain.adjusted() < 25 else plain
    )

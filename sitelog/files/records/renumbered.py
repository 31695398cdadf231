"""Lines that differ in what was measured: the record of one, made again with the numbers of the next.

`torque bracket-1..8 12.1 11.9 … Nm` stands in every log, and no two have the same values. Where two such
lines are equal but for the digits of values, they have the same tokens (`syntax/alike.py` says why) and are
read in the same way up to the making of each quantity; only that is done again. Where there is something to
say of a quantity, the line is read from the start.
"""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.base.frozen import NamedTuple
from sitelog.language.kinds.base import Made, Value
from sitelog.language.syntax.tokens import Node
from sitelog.language.syntax.trees import fresh, recipe
from sitelog.notation.lookalikes import plain
from sitelog.notation.quantities import Quantity, read_quantity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias

_Where: TypeAlias = "int | tuple[int, ...]"
"""What a field of a record holds: a quantity, or values, by the numbers of what was made of the line."""

_FOLD = bytes(ord("0") if 48 <= byte < 58 else byte for byte in range(256))
_new = tuple.__new__


class _Number(NamedTuple):
    """One value of a line: its stretch, the number in it, and what else it was made of."""

    start: int
    end: int
    at: int
    until: int
    unit: str
    bound: str
    kind: str


class _Alike(NamedTuple):
    """How to make a record again: its body, its fields as they were, and which of them hold values."""

    numbers: tuple[_Number, ...]
    body: Any
    fields: tuple[Any, ...]
    where: tuple[tuple[int, _Where], ...]
    rest: Any


class Renumbered:
    """What was learnt of lines, by the part of their text that begins at `shift`, the key.

    With each goes the rest of what there is to know of it.
    """

    def __init__(self, shift: int, most: int) -> None:
        self._shift = shift
        self._most = most
        self._count = 0
        # By the text with its digits made one: what stands between the numbers, and by that how to make it.
        self._shapes: dict[bytes, tuple[list[tuple[int, int]], dict[str, _Alike]] | None] = {}

    def again(self, key: str, text: str) -> tuple[Node, tuple[Any, ...], int, Any] | None:
        """Body and fields of the record of a line, how many numbers it has, and the rest that is known.

        None where no such line was learnt, or there is something to say of one of its numbers.
        """
        shape = self._shapes.get(_folded(key))
        if shape is None:
            return None
        between, known = shape
        alike = known.get("".join([key[start:end] for start, end in between]))
        if alike is None:
            return None
        numbers, body, fields, where, rest = alike
        made: list[Quantity] = []
        for start, end, at, until, unit, bound, kind in numbers:
            quantity, problems = read_quantity(text[at:until], unit, bound, text[start:end])
            if quantity is None or problems or quantity.kind != kind:
                return None
            made.append(quantity)
        now = list(fields)
        for field, of in where:
            if isinstance(of, int):
                now[field] = made[of]
            else:
                now[field] = tuple([_new(Value, (made[one], *numbers[one][:2], False)) for one in of])
        return fresh(body, text), tuple(now), len(made), rest

    def learn(
        self,
        key: str,
        text: str,
        body: Node,
        fields: tuple[Any, ...],
        made: Sequence[Made],
        rest: Any,
    ) -> None:
        """Keep how a record came about, where it is the second of its shape and all its numbers are seen.

        Body and fields are those of a line with which nothing was the matter.
        """
        folded = _folded(key)
        if folded not in self._shapes:
            self._room()
            self._shapes[folded] = None  # one that comes again is worth it
            return
        numbers = _numbers(text, made)
        where = _where(fields, made)
        if numbers is None or where is None or plain(text) != text:
            return
        ends = [0, *(place - self._shift for one in numbers for place in (one.at, one.until)), len(key)]
        between = list(zip(ends[::2], ends[1::2], strict=True))
        shape = self._shapes[folded]
        if shape is None:
            shape = self._shapes[folded] = between, {}
        if shape[0] == between:
            self._room()
            rest_of_key = "".join([key[start:end] for start, end in between])
            shape[1][rest_of_key] = _Alike(numbers, recipe(body, text), fields, where, rest)

    def forget(self) -> None:
        """Know nothing."""
        self._shapes.clear()
        self._count = 0

    def _room(self) -> None:
        if self._count >= self._most:
            self.forget()
        self._count += 1


def _folded(key: str) -> bytes:
    return key.encode("utf-8", "surrogatepass").translate(_FOLD)


def _numbers(text: str, made: Sequence[Made]) -> tuple[_Number, ...] | None:
    """Where the numbers stand in a line, in order; None where that cannot be told."""
    found: list[_Number] = []
    last = 0
    for quantity, start, end, number, unit, bound in made:
        at = text.find(number, start, end)
        if at < last:
            return None
        last = at + len(number)
        found.append(_Number(start, end, at, last, unit, bound, quantity.kind))
    return tuple(found) if found else None


def _where(fields: tuple[Any, ...], made: Sequence[Made]) -> tuple[tuple[int, _Where], ...] | None:
    """Which fields hold which of the quantities; None where one is in none of them, or two are alike."""
    of_span = {(one.start, one.end): number for number, one in enumerate(made)}
    of_quantity = {id(one.quantity): number for number, one in enumerate(made)}
    found: list[tuple[int, _Where]] = []
    used: set[int] = set()
    for at, field in enumerate(fields):
        if isinstance(field, Quantity):
            number = of_quantity.get(id(field))
            if number is None:
                continue  # its digits stand as they are in every line alike
            if len(of_quantity) < len(made):
                return None
            found.append((at, number))
            used.add(number)
        elif field.__class__ is tuple and field and field[0].__class__ is Value:
            numbers = tuple([of_span.get((one.start, one.end), -1) for one in field])
            if -1 in numbers or any(one.blank or one.quantity is None for one in field):
                return None
            found.append((at, numbers))
            used.update(numbers)
    return tuple(found) if len(used) == len(made) == len(of_span) else None

"""What a record says, without where it stands in its line and how its values were spelt."""

from __future__ import annotations

from sitelog.base.frozen import fields_of, is_record
from sitelog.language.kinds.base import Condition, Head, Place, Value
from sitelog.language.kinds.look import Setting
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.syntax import Token
from sitelog.notation.quantities import Quantity


def essence(value: object) -> object:
    """What a record, or any value in one, says: equal for two that say the same.

    Names, quantities, days, times and words count; positions in the line and spellings do not.
    """
    match value:
        case Quantity(number, unit, kind, _, bound, _):
            return number, str(number), unit, kind, bound
        case Place(name, _, _):
            return name
        case Value(quantity, _, _, blank):
            return essence(quantity), blank
        case Requirement():
            return tuple(map(essence, value[: value._fields.index("text")]))
        case Condition():
            return " ".join(value.text.split()) if value.base is None else value.key
        case Token(_, text, _, _):
            return text
        case Head(_, _, day, clock, by, tool, _):
            return day, clock, by, tool
        case Setting(head, whats, places, written, quantity, _):
            return (
                essence(head),
                essence(whats),
                essence(places),
                written if quantity is None else essence(quantity),
            )
        case tuple():
            return tuple(map(essence, value))
    if is_record(value):
        return type(value).__name__, tuple(map(essence, fields_of(value).values()))
    return value

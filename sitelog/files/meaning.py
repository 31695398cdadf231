"""What a record says, without where it stands in its line and how its values were spelt."""

from __future__ import annotations

from sitelog.base.frozen import fields_of, is_record
from sitelog.language.kinds.base import Condition, Head, Place, Value
from sitelog.language.kinds.look import Setting
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.syntax import Token
from sitelog.notation.quantities import Quantity


def essence(thing: object) -> object:
    """Equal for two records that say the same: names, values, moments, words; no positions, no spellings."""
    match thing:
        case Quantity(number, unit, kind, _, bound, _):
            return number, str(number), unit, kind, bound
        case Place(name, _, _):
            return name
        case Value(quantity, _, _, blank):
            return essence(quantity), blank
        case Requirement():
            return tuple(map(essence, thing[: thing._fields.index("text")]))
        case Condition():
            return " ".join(thing.text.split()) if thing.base is None else thing.key
        case Token(_, text, _, _):
            return text
        case Head(_, _, day, clock, by, tool, _):
            return day, clock, by, tool
        case Setting(head, what, place, value, quantity, _):
            return essence(head), what, place, value if quantity is None else essence(quantity)
        case tuple():
            return tuple(map(essence, thing))
    if is_record(thing):
        return type(thing).__name__, tuple(map(essence, fields_of(thing).values()))
    return thing

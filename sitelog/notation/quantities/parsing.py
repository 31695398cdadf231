"""A number and a unit as written -> a quantity, and whether it is of the kind that is wanted."""

from functools import lru_cache

from sitelog.notation.lookalikes import FOOT_MARKS
from sitelog.notation.quantities.gauges import feet_inches, gauge
from sitelog.notation.quantities.kinds import describe_kind, examples, name_of
from sitelog.notation.quantities.numerals import read_number
from sitelog.notation.quantities.quantity import Problem, Quantity
from sitelog.notation.quantities.units import find_unit, in_base

# What a unit of the wrong kind probably was, by (kind wanted, unit written).
_SLIPS = {
    ("c-rate", "degC"): "a charge rate is written 0.5 C-rate",
    ("temperature", "deg"): "write degC or degF",
    ("temperature", "C-rate"): "a temperature is written 25 degC",
    ("resistance", "K"): "was kΩ meant?",
    ("resistance", "m"): "was mΩ or MΩ meant?",
    ("force", "lb"): "a force is written in lbf or N",
    ("force", "kg"): "a force is written in kgf or N",
    ("mass", "lbf"): "a mass is written in lb or kg",
    ("mass", "kgf"): "a mass is written in kg or lb",
    ("time", "m"): "minutes are written min",
    ("torque", "kg"): "was kgf.cm meant?",
    ("torque", "J"): "a torque is written in Nm",
    ("charge", "A"): "was Ah meant?",
    ("current", "Ah"): "was A meant?",
    ("energy", "W"): "was Wh meant?",
    ("energy", "kW"): "was kWh meant?",
    ("power", "Wh"): "was W meant?",
    ("power", "kWh"): "was kW meant?",
    ("energy", "Nm"): "an energy is written in Wh or J",
}


# Nothing else is divided into eighths; a bare number is a multiple, or what its unit is still to come for.
_IN_FRACTIONS = frozenset(("in", "ft", ""))


@lru_cache(maxsize=16384)
def read_quantity(
    number_text: str, unit_text: str, bound: str = "", text: str = ""
) -> tuple[Quantity | None, tuple[Problem, ...]]:
    """The quantity written, or None, and every problem with it; infos come with a quantity.

    `bound` is `<` or `>` for a censored value. `text` is the value as written, put together from
    the parts where left out. Also reads a gauge (`8` with `AWG`, `#8`) and feet with inches
    (`3'2"`). A number without a unit is of the kind `number`. A fraction is one of inches or feet.
    """
    whole = text or f"{bound}{number_text} {unit_text}".rstrip()
    if number_text.startswith("#") or unit_text.casefold() == "awg":
        return _finished(gauge(number_text), bound, whole)
    if not FOOT_MARKS.isdisjoint(number_text) or unit_text in FOOT_MARKS:
        read = read_number(number_text)
        if isinstance(read, Problem) and read.slug == "thousands-separator":
            return None, (read,)
        return _finished(feet_inches(number_text + unit_text), bound, whole)
    read, unit = read_number(number_text), find_unit(unit_text)
    if isinstance(read, Problem):
        return None, (read, unit) if isinstance(unit, Problem) else (read,)
    number, infos = read
    if isinstance(unit, Problem):
        return None, (*infos, unit)
    if "/" in number_text and unit.normal not in _IN_FRACTIONS:
        return None, (_no_fraction(number_text, unit.normal),)
    return Quantity(number, unit.normal, unit.kind, in_base(number, unit), bound, whole), infos


def _no_fraction(number_text: str, unit: str) -> Problem:
    """Two values with a slash between them are no fraction of a value: 310/15 ms is not 20.67 ms."""
    two = " ".join(number_text.split("/"))
    message = f"{number_text} {unit} is no value: a fraction stands in inches and feet only"
    return Problem("bad-number", message, f"two values are written {two} {unit}, each for its place")


def _finished(
    found: Quantity | Problem, bound: str, text: str
) -> tuple[Quantity | None, tuple[Problem, ...]]:
    if isinstance(found, Problem):
        return None, (found,)
    return found._replace(bound=bound, text=text), ()


def kind_problem(q: Quantity, kinds: tuple[str, ...]) -> Problem | None:
    """What is wrong where `q` is of none of the `kinds` that are wanted; none wanted means any.

    Problems: `unit-kind`, and `no-unit` for a bare number.
    """
    if not kinds or q.kind in kinds:
        return None
    units = [unit for kind in kinds for unit in examples(kind)]
    wanted = " or ".join(filter(None, (", ".join(units[:-1]), *units[-1:])))
    if not units:
        return Problem("unit-kind", f"a number without a unit is wanted, not {q.unit}")
    if q.kind == "number":
        return Problem(
            "no-unit", f"{q.text or q.number} has no unit", f"{describe_kind(kinds[0])} wants its unit"
        )
    names = " or ".join(name_of(kind) for kind in kinds)
    slips = (_SLIPS.get((kind, q.unit)) for kind in kinds)
    return Problem("unit-kind", f"{names} wants {wanted}, not {q.unit}", next(filter(None, slips), ""))

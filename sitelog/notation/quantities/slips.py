"""What a value that fails its limits was probably meant to be. Nothing is corrected: a question is asked."""

from collections.abc import Callable
from decimal import Context, Decimal

from sitelog.notation.quantities.numerals import format_number, rounded
from sitelog.notation.quantities.quantity import Quantity
from sitelog.notation.quantities.units import Unit, find_unit, from_base, in_base, unit_of

# Units that are mistaken for one another, by kind (common practice, no source).
_CONFUSED: dict[str, tuple[str, ...]] = {
    "torque": ("Nm", "in-lb", "ft-lb", "kgf.cm"),
    "resistance": ("mΩ", "ohm", "kΩ", "MΩ", "GΩ"),
    "voltage": ("mV", "V", "kV"),
    "current": ("mA", "A"),
    "length": ("mm", "cm", "m", "in", "ft"),
    "time": ("ms", "s", "min", "h"),
    "energy": ("Wh", "kWh"),
    "charge": ("mAh", "Ah"),
    "power": ("W", "kW"),
    "temperature": ("degC", "degF"),
}
# Units that are no prefix or multiple of each other; a hint between them shows the conversion.
_WORLDS_APART = frozenset(("Nm", "in-lb", "ft-lb", "kgf.cm", "in", "ft", "degC", "degF"))
_SHIFTS = (1, -1, 2, -2)  # places the decimal point may have slipped
# Tried after a slipped decimal point: few tools show them, and ten of them are about one Nm.
_RARE = frozenset(("kgf.cm",))
_CONTEXT = Context(prec=28)


def _distance(base: Decimal, candidate: Decimal) -> Decimal:
    """How far apart two values are, as a ratio of at least 1."""
    ratio = abs(_CONTEXT.divide(candidate, base)) if base and candidate else Decimal(1)
    return ratio if ratio >= 1 else _CONTEXT.divide(Decimal(1), ratio)


def _between(base: Decimal, candidate: Decimal, kind: str) -> Decimal:
    if kind == "temperature" or base * candidate <= 0:
        return (base + candidate) / 2
    return _CONTEXT.sqrt(base * candidate).copy_sign(base)


def _other_units(q: Quantity) -> list[tuple[Unit, Decimal]]:
    """The same number in the other units of the kind, the nearest value first."""
    units = [unit_of(unit) for unit in _CONFUSED.get(q.kind, ()) if unit != q.unit]
    values = [(unit, in_base(q.number, unit)) for unit in units]
    return sorted(values, key=lambda pair: _distance(q.base, pair[1]))


def probably_meant(q: Quantity, accept: Callable[[Decimal], bool]) -> str:
    """The question to ask about a value that fails its limits, or an empty string.

    `accept` says whether a value in the base unit would pass. The same number in a unit that
    people confuse comes first, then a slipped decimal point. A value that is merely low or high
    is left alone: half way to what was perhaps meant (by ratio) must fail too, or every poor
    insulation reading would be explained away.
    """
    own = find_unit(q.unit)
    if not q.number or not isinstance(own, Unit):
        return ""
    likely = [
        (unit, base)
        for unit, base in _other_units(q)
        if accept(base) and not accept(_between(q.base, base, q.kind))
    ]
    for unit, base in likely:
        if unit.normal not in _RARE:
            return _ask_unit(q, own, unit, base)
    for places in _SHIFTS:
        number = q.number.scaleb(places)
        base, beyond = in_base(number, own), in_base(number.scaleb(places), own)
        # Beyond a limit on one side only, anything larger passes: that tells nothing.
        if accept(base) and not accept(beyond) and not accept(_between(q.base, base, q.kind)):
            return f"was {q.bound}{format_number(number)} {q.unit} meant (decimal point slipped)?"
    return next((_ask_unit(q, own, unit, base) for unit, base in likely), "")


def _ask_unit(q: Quantity, own: Unit, unit: Unit, base: Decimal) -> str:
    written = f"{q.bound}{format_number(q.number)} {unit.normal}"
    if _WORLDS_APART.isdisjoint((own.normal, unit.normal)) or {own.normal, unit.normal} <= {"in", "ft"}:
        return f"was {written} meant?"
    converted = rounded(from_base(base, own), 3)
    return f"{written} is {q.bound}{format_number(converted)} {q.unit}: was {unit.normal} meant?"

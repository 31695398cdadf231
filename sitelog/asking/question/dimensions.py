"""Products and quotients of quantities: whether they can be compared, and by which factor.

The unit library is loaded only when a question multiplies or divides unlike quantities.
"""

from __future__ import annotations

from functools import cache

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

# The powers of kinds that a value is made of, sorted: a torque is (("torque", 1),), a number ().
# `?` is a kind that differs from row to row.
Units = tuple[tuple[str, int], ...]

# The base unit of each kind as the unit library writes it. A kind that is not here can be multiplied and
# divided, and compared with what holds the same power of it.
_BASE_UNITS = {
    "torque": "newton * meter",
    "energy": "watt * hour",
    "length": "meter",
    "area": "millimeter ** 2",
    "mass": "kilogram",
    "force": "newton",
    "voltage": "volt",
    "current": "ampere",
    "power": "watt",
    "apparent-power": "volt * ampere",
    "charge": "ampere * hour",
    "c-rate": "1 / hour",
    "resistance": "ohm",
    "temperature": "delta_degree_Celsius",
    "time": "second",
    "frequency": "1 / second",
    "ratio": "dimensionless",
    "number": "dimensionless",
    "angle": "degree",
    "slope": "millimeter / meter",
    "irradiance": "watt / meter ** 2",
    "pressure": "pascal",
}

_PLAIN = frozenset({"number", "ratio"})


def units_of(kind: str) -> Units:
    """One kind as powers; shares and bare numbers have none."""
    return () if kind in _PLAIN else ((kind, 1),)


def combined(left: Units, right: Units, sign: int) -> Units:
    """The powers of a product (sign 1) or a quotient (sign -1)."""
    powers = dict(left)
    for kind, power in right:
        powers[kind] = powers.get(kind, 0) + sign * power
    return tuple(sorted((kind, power) for kind, power in powers.items() if power))


def is_single(units: Units) -> bool:
    """Whether the value is of one kind as such, or a bare number."""
    return not units or (len(units) == 1 and units[0][1] == 1)


@cache
def factor(have: Units, want: Units) -> float | None:
    """What a value in `have` is multiplied with to be one in `want`; None where they are unlike."""
    if have == want:
        return 1.0
    if (is_single(have) and is_single(want)) or any(kind == "?" for kind, _ in (*have, *want)):
        return None  # kinds never mix, even of one dimension: energy is not torque
    # A kind that has no unit in the library is like itself alone: it has to stand on both sides.
    unlisted = [part for part in have if part[0] not in _BASE_UNITS]
    if unlisted != [part for part in want if part[0] not in _BASE_UNITS]:
        return None
    mine, other = _product(have), _product(want)
    if mine.dimensionality != other.dimensionality:
        return None
    return float((1.0 * mine).to(other).magnitude)


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


def _product(units: Units) -> Any:
    """The unit of the library for the powers of the kinds that it has units for."""
    registry = _registry()
    product = registry.Unit("dimensionless")
    for kind, power in units:
        if kind not in _BASE_UNITS:
            continue
        product *= registry.Unit(registry.parse_expression(_BASE_UNITS[kind]).units) ** power
    return product


def in_words(units: Units) -> str:
    """The powers for a message: `voltage x current`."""
    if not units:
        return "a number without a unit"
    if is_single(units):
        from sitelog.notation.quantities import describe_kind

        return describe_kind(units[0][0]) if units[0][0] != "?" else "a quantity"
    over = [kind if power == 1 else f"{kind}^{power}" for kind, power in units if power > 0]
    under = [kind if power == -1 else f"{kind}^{-power}" for kind, power in units if power < 0]
    return " x ".join(over or ["1"]) + "".join(f" / {kind}" for kind in under)

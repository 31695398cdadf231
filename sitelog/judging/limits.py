"""A value against its limits: decimal and inclusive, censored values by what they allow."""

from __future__ import annotations

from decimal import Decimal

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import Reason
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Limits
from sitelog.notation.quantities import Quantity, format_quantity, probably_meant
from sitelog.physics.uncertainty import conformance, margin

_SLUGS = {("joint", "under"): "under-torque", ("joint", "over"): "over-torque"}
_PLACES = Decimal("1e-12")


class Comparison(NamedTuple):
    """What the limits say of a value."""

    reasons: tuple[Reason, ...]
    margin: float | None = None
    probability: float | None = None


def side(q: Quantity, limits: Limits) -> str:
    """`under`, `over`, `doubtful`, or empty where every value that `q` allows is inside."""
    low, high = limits.low, limits.high
    below = low is not None and _is_below(q, low, limits.low_open)
    above = high is not None and _is_above(q, high, limits.high_open)
    if not q.bound:
        return "under" if below else "over" if above else ""
    if q.bound == ">":  # every value above q.base
        if high is not None:
            return "over" if q.base >= high.base else "doubtful"
        return "doubtful" if low is not None and q.base < low.base else ""
    if low is not None:
        return "under" if q.base <= low.base else "doubtful"
    return "doubtful" if high is not None and q.base > high.base else ""


def _difference(q: Quantity, limit: Quantity) -> Decimal:
    """In the base unit: a computed value is shown rounded. The rounding of a factor is no difference."""
    apart = q.base - limit.base
    return Decimal(0) if abs(apart) <= _PLACES * max(abs(q.base), abs(limit.base)) else apart


def _is_below(q: Quantity, low: Quantity, is_open: bool) -> bool:
    apart = _difference(q, low)
    return apart < 0 or (is_open and apart == 0)


def _is_above(q: Quantity, high: Quantity, is_open: bool) -> bool:
    apart = _difference(q, high)
    return apart > 0 or (is_open and apart == 0)


def describe(limits: Limits) -> str:
    """The limits in words: `10.8 to 13.2 Nm`, `at least 1 MΩ`."""
    low, high = limits.low, limits.high
    if low is not None and high is not None:
        if low == high:
            return f"{format_quantity(low)} exactly"
        return f"{format_quantity(low).removesuffix(' ' + high.unit)} to {format_quantity(high)}"
    if low is not None:
        return f"{'more than' if limits.low_open else 'at least'} {format_quantity(low)}"
    return (
        f"{'less than' if limits.high_open else 'at most'} {format_quantity(high)}"
        if high is not None
        else ""
    )


def against(
    kind: str, q: Quantity, limits: Limits, u: float | None, guard: float, about: str = ""
) -> Comparison:
    """The reasons that a value's limits give, its margin and its probability.

    `u` is the standard uncertainty in base units; under `guard` 0 the probability decides nothing.
    """
    known = _passing.get((id(q), id(limits), u, guard))
    if known is not None and known[0] is q and known[1] is limits:
        return known[2]
    low, high = limits.low, limits.high
    if low is None and high is None:
        return Comparison((Reason("no-limit", "no-limit", "the sheet gives no limit"),))
    if q.kind != limits.kind:
        message = f"{format_quantity(q)} cannot be held against {describe(limits)}: another sort of quantity"
        return Comparison(
            (Reason("doubtful", "unit-kind", message, "write the value in the sheet's sort of unit"),)
        )
    where = known_side(q, limits)
    floats = float(q.base), _float(low), _float(high)
    share = None if q.bound else margin(*floats)
    fixed = low is not None and high is not None and low.base == high.base
    probability = None if u is None or q.bound or fixed else conformance(floats[0], u, floats[1], floats[2])
    subject = f"{about} " if about else ""
    if where in ("under", "over"):
        far = "below" if where == "under" else "above"
        limit = low if where == "under" else high
        assert limit is not None
        edge = "the lowest" if where == "under" else "the highest"
        # Whoever reads in-lb off a dial wants the limit in in-lb too.
        other = f" ({format_quantity(limit, q.unit)})" if q.unit != limit.unit else ""
        message = f"{subject}{format_quantity(q)} is {far} {format_quantity(limit)}{other}, {edge} allowed"
        if fixed:
            wanted = f"is not {format_quantity(limit)}, and the sheet gives no tolerance"
            message = f"{subject}{format_quantity(q)} {wanted}"
        help = (
            ""
            if row_of(kind).called == "nothing"
            else probably_meant(q, lambda base: side(_at(q, base), limits) == "")
        )
        return Comparison(
            (Reason(where, _SLUGS.get((kind, where), where), message, help),), share, probability
        )
    if where == "doubtful":
        message = f"{subject}{format_quantity(q)} leaves open whether it is {describe(limits)}"
        return Comparison(
            (Reason("doubtful", "doubtful", message, "measure again on a range that shows the value"),), share
        )
    if guard and probability is not None and probability < guard:
        message = (
            f"{subject}{format_quantity(q)} is inside {describe(limits)}, "
            "but with this tool only with a probability"
            f" of {probability * 100:.0f} %; the sheet asks {guard * 100:g} %"
        )
        return Comparison(
            (Reason("doubtful", "probability-low", message, "tighten or measure again nearer the middle"),),
            share,
            probability,
        )
    if guard and q.bound and u is not None and (worst_case := _at_its_bound(q, limits, u)) < guard:
        message = (
            f"{subject}{format_quantity(q)} allows {format_quantity(q._replace(bound=''))}, and that is "
            f"inside {describe(limits)} only with a probability of {worst_case * 100:.0f} %; "
            f"the sheet asks {guard * 100:g} %"
        )
        help = "measure again on a range that shows the value"
        return Comparison((Reason("doubtful", "probability-low", message, help),), share)
    passed = Comparison((), share, probability)
    if len(_passing) >= _MOST:
        _passing.clear()
    _passing[id(q), id(limits), u, guard] = q, limits, passed
    return passed


def _at_its_bound(q: Quantity, limits: Limits, u: float) -> float:
    """The probability of the worst value that a bound leaves open: `> 1 MΩ` counts as 1 MΩ."""
    return conformance(float(q.base), u, _float(limits.low), _float(limits.high))


def known_side(q: Quantity, limits: Limits) -> str:
    """What `side` says; remembered, as it is asked of a value again where something has to come after it."""
    known = _sides.get((id(q), id(limits)))
    if known is not None and known[0] is q and known[1] is limits:
        return known[2]
    if len(_sides) >= _MOST:
        _sides.clear()
    found = side(q, limits)
    _sides[id(q), id(limits)] = q, limits, found
    return found


_sides: dict[tuple[int, int], tuple[Quantity, Limits, str]] = {}

# What was found without fault, by the very value and limits: nothing of it depends on where they stand, and a
# fleet has few values and fewer limits.
_passing: dict[tuple[int, int, float | None, float], tuple[Quantity, Limits, Comparison]] = {}
_MOST = 10_000


def _at(q: Quantity, base: Decimal) -> Quantity:
    return q._replace(base=base, unit="", bound="")


def _float(q: Quantity | None) -> float | None:
    return float(q.base) if q is not None else None

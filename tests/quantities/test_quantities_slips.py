"""What a value that cannot be meant probably was. Limits are invented unless a source is named."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from sitelog.notation.quantities import Quantity, probably_meant, read_quantity


def written(number: str, unit: str, bound: str = "") -> Quantity:
    q, problems = read_quantity(number, unit, bound)
    assert q is not None, problems
    return q


def within(low: str | None, high: str | None, unit: str) -> Callable[[Decimal], bool]:
    least = written(low, unit).base if low else None
    most = written(high, unit).base if high else None
    return lambda base: (least is None or base >= least) and (most is None or base <= most)


# At least 1 Mohm at 500 V: IEC 60364-6:2016, table 6.1
INSULATION = within("1", None, "MΩ")
TWELVE = within("10.8", "13.2", "Nm")  # 12 Nm +-10 %


@pytest.mark.parametrize(
    ("q", "accept", "question"),
    [
        (written("2.1", "kohm"), INSULATION, "was 2.1 MΩ meant?"),
        (written("2.1", "mohm"), INSULATION, "was 2.1 MΩ meant?"),
        (written("2.1", "ohm"), INSULATION, "was 2.1 MΩ meant?"),
        (written("999", "kohm", ">"), INSULATION, ""),  # merely low
        (written("550", "ohm", ">"), INSULATION, "was >550 MΩ meant?"),
        # 106 lbf.in is 11.98 N.m: NIST SP 811 (2008), appendix B.8
        (written("106", "Nm"), TWELVE, "106 in-lb is 12.0 Nm: was in-lb meant?"),
        (written("12", "in-lb"), TWELVE, "12 Nm is 106 in-lb: was Nm meant?"),
        # 5 lbf.ft is 6.779 N.m, twelve times 5 lbf.in: NIST SP 811 (2008)
        (written("5", "ft-lb"), within("4.5", "5.5", "in-lb"), "5 in-lb is 0.417 ft-lb: was in-lb meant?"),
        (written("5", "in-lb"), within("4.5", "5.5", "ft-lb"), "5 ft-lb is 60.0 in-lb: was ft-lb meant?"),
        (written("122", "Nm"), TWELVE, "was 12.2 Nm meant (decimal point slipped)?"),
        (written("1.20", "Nm"), TWELVE, "was 12.0 Nm meant (decimal point slipped)?"),
        (written("1200", "Nm"), TWELVE, "was 12.00 Nm meant (decimal point slipped)?"),
        (written("134", "Nm"), TWELVE, "134 kgf.cm is 13.1 Nm: was kgf.cm meant?"),
        (written("120", "ohm"), within(None, "1", "ohm"), "was 120 mΩ meant?"),
        # 77 degF is 25 degC: NIST SP 811 (2008)
        (written("77", "degC"), within("10", "35", "degC"), "77 degF is 25.0 degC: was degF meant?"),
        (written("12", "mm"), within("300", None, "mm"), "12 in is 305 mm: was in meant?"),
        (written("4", "in"), within("3", None, "ft"), "was 4 ft meant?"),
        (written("60", "mm"), within("590", "610", "mm"), "was 60 cm meant?"),
        # at most 40 ms at five times the rated residual current: IEC 61008-1
        (written("24", "s"), within(None, "40", "ms"), "was 24 ms meant?"),
        (written("9.3", "Wh"), within("9", None, "kWh"), "was 9.3 kWh meant?"),
        (written("307", "mV"), within("270", "345", "V"), "was 307 V meant?"),
        (written("20", "mA"), within("15", "25", "A"), "was 20 A meant?"),
        (written("5", "kW"), within("4.5", "5.5", "W"), "was 5 W meant?"),
    ],
)
def test_question(q: Quantity, accept: Callable[[Decimal], bool], question: str) -> None:
    assert not accept(q.base)
    assert probably_meant(q, accept) == question


@pytest.mark.parametrize(
    ("q", "accept"),
    [
        (written("9.8", "Nm"), TWELVE),
        (written("14", "Nm"), TWELVE),
        (written("0", "Nm"), TWELVE),
        (written("0.5", "Mohm"), INSULATION),
        (written("0.05", "Mohm"), INSULATION),
        (written("300", "kohm"), INSULATION),
        (written("1.2", "ohm"), within(None, "1", "ohm")),
        (written("310", "ms"), within(None, "300", "ms")),
        (written("6", "mm2"), within("10", None, "mm2")),
        (written("8", "AWG"), within("10", None, "mm2")),
        (written("5", ""), within("10", None, "")),
    ],
)
def test_a_value_that_is_merely_low_or_high_is_not_explained_away(
    q: Quantity, accept: Callable[[Decimal], bool]
) -> None:
    assert not accept(q.base)
    assert probably_meant(q, accept) == ""

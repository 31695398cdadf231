"""Makes `factors.py` from `units.txt` and pint: run `python -m sitelog.notation.quantities.generate`.

Of what reads values, only this imports pint (questions use it for the dimensions of a formula). Fractions
keep every factor exact, so 5/9 and the pound-force lose nothing; only the circular mil, which holds pi, is
rounded (to `_DIGITS` digits).
"""

import sys
from decimal import Context, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

from sitelog.notation.quantities.kinds import KINDS

_HERE = Path(__file__).parent
_DIGITS = 34
_HEADER = '''"""Generated from units.txt and pint by `python -m sitelog.notation.quantities.generate`."""

# Normal spelling -> (kind, numerator, denominator, offset), where the value in the kind's base
# unit is (number + offset) * numerator / denominator.
'''


class UnitLine(NamedTuple):
    """One unit of `units.txt`; `expression` is the unit in pint's words."""

    normal: str
    kind: str
    expression: str
    spellings: tuple[str, ...]
    source: str


def read_units(text: str) -> list[UnitLine]:
    """The units of the table. Raises ValueError for a line that is not of the table's form."""
    lines: list[UnitLine] = []
    taken: set[str] = set()
    for number, raw in enumerate(text.split("\n"), 1):
        if not raw.strip() or raw.startswith("#"):
            continue
        cells = [cell.strip() for cell in raw.split("|")]
        if len(cells) != 5:
            raise ValueError(f"units.txt:{number}: five columns wanted, found {len(cells)}")
        normal, kind, expression, others, source = cells
        if kind not in KINDS or not source:
            raise ValueError(f"units.txt:{number}: {normal} wants a known kind and a source")
        spellings = (normal, *others.split())
        if taken.intersection(spellings) or len(set(spellings)) != len(spellings):
            raise ValueError(f"units.txt:{number}: a spelling of {normal} stands twice")
        taken.update(spellings)
        lines.append(UnitLine(normal, kind, expression, spellings, source))
    return lines


def _written(fraction: Fraction) -> tuple[str, str]:
    """Numerator and denominator as decimal text; the denominator is 1 where the decimal ends."""
    rest = fraction.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest != 1:
        return str(fraction.numerator), str(fraction.denominator)
    exact = Context(prec=200).divide(Decimal(fraction.numerator), Decimal(fraction.denominator))
    return f"{Context(prec=_DIGITS).plus(exact):f}", "1"


def factors(lines: list[UnitLine]) -> dict[str, tuple[str, str, str, str]]:
    """Normal spelling -> (kind, numerator, denominator, offset), asked of pint.

    Raises pint's DimensionalityError where a unit is not of the dimension of its kind's base unit.
    """
    import pint

    registry: Any = pint.UnitRegistry(non_int_type=Fraction, cache_folder=None)
    expressions = {line.normal: line.expression for line in lines}

    def measured(number: int, expression: str) -> Any:
        # Only single units can have an offset (degree_Celsius), and those must not be multiplied.
        if expression.isidentifier():
            return registry.Quantity(Fraction(number), expression)
        return number * registry.parse_expression(expression)

    table: dict[str, tuple[str, str, str, str]] = {}
    for line in lines:
        base = KINDS[line.kind]
        target = registry.parse_units(expressions[base]) if base else registry.dimensionless
        zero = Fraction(measured(0, line.expression).to(target).magnitude)
        factor = Fraction(measured(1, line.expression).to(target).magnitude) - zero
        offset, whole = _written(zero / factor)
        if whole != "1":
            raise ValueError(f"the offset of {line.normal} is no finite decimal")
        table[line.normal] = (line.kind, *_written(factor), offset)
    return table


def generate(text: str) -> str:
    """The text of `factors.py` for the text of `units.txt`."""
    lines = read_units(text)
    parts = [_HEADER, "UNITS: dict[str, tuple[str, str, str, str]] = {\n"]
    for normal, values in factors(lines).items():
        shown = ", ".join(f'"{value}"' for value in values)
        parts.append(f'    "{normal}": ({shown}),\n')
    parts.append("}\n\n# Every spelling -> the normal one.\nSPELLINGS: dict[str, str] = {\n")
    parts.extend(f'    "{spelling}": "{line.normal}",\n' for line in lines for spelling in line.spellings)
    parts.append("}\n")
    return "".join(parts)


def main() -> int:
    """Write `factors.py` anew."""
    text = (_HERE / "units.txt").read_text(encoding="utf-8")
    (_HERE / "factors.py").write_text(generate(text), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())

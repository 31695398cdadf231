"""A quantity as written, with the value in its kind's base unit beside it."""

from decimal import Decimal

from sitelog.base.frozen import NamedTuple


class Quantity(NamedTuple):
    """One value with its unit.

    `number` is what was written (decimal point, sign); `unit` the normal spelling of the written
    unit; `kind` the quantity kind (`torque`, `resistance`, ...); `base` the value in the kind's
    base unit, exact where the factor is; `bound` is `<` or `>` for a censored value, else empty;
    `text` is the value as written.
    """

    number: Decimal
    unit: str
    kind: str
    base: Decimal
    bound: str = ""
    text: str = ""


class Problem(NamedTuple):
    """What is the matter with a written value: a slug of the catalog, a message and a help line."""

    slug: str
    message: str
    help: str = ""

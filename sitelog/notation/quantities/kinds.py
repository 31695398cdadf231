"""The kinds of quantity, each with the unit its values are compared in.

Two spellings of one physical dimension can be two kinds: energy is not torque though both are
newton times metre. Kinds never mix.
"""

from sitelog.base.frozen import NamedTuple


class Kind(NamedTuple):
    """A kind of quantity: its base unit, its name with the article, the units messages offer."""

    base: str
    words: str
    examples: tuple[str, ...]


_KINDS: dict[str, Kind] = {
    "torque": Kind("Nm", "a torque", ("Nm", "in-lb")),
    "energy": Kind("Wh", "an energy", ("Wh", "kWh")),
    "length": Kind("m", "a length", ("mm", "in")),
    "area": Kind("mm2", "a cross-section", ("mm2", "AWG")),
    "mass": Kind("kg", "a mass", ("kg", "lb")),
    "force": Kind("N", "a force", ("N", "lbf")),
    "voltage": Kind("V", "a voltage", ("V", "mV")),
    "current": Kind("A", "a current", ("A", "mA")),
    "power": Kind("W", "a power", ("W", "kW")),
    "apparent-power": Kind("VA", "an apparent power", ("VA", "kVA")),
    "charge": Kind("Ah", "a charge", ("Ah", "mAh")),
    "c-rate": Kind("C-rate", "a charge rate", ("C-rate",)),
    "resistance": Kind("ohm", "a resistance", ("ohm", "MΩ")),
    "temperature": Kind("degC", "a temperature", ("degC", "degF")),
    "time": Kind("s", "a time", ("s", "min")),
    "frequency": Kind("Hz", "a frequency", ("Hz",)),
    "ratio": Kind("", "a share", ("%",)),
    "angle": Kind("deg", "an angle", ("deg",)),
    "slope": Kind("mm/m", "a slope", ("mm/m",)),
    "irradiance": Kind("W/m2", "an irradiance", ("W/m2",)),
    "pressure": Kind("Pa", "a pressure", ("bar", "psi")),
    "number": Kind("", "a number without a unit", ()),
}

# Kind -> normal spelling of its base unit. A ratio's base is the bare number 1 (100 % is 1).
KINDS: dict[str, str] = {name: kind.base for name, kind in _KINDS.items()}


def examples(kind: str) -> tuple[str, ...]:
    """The units a message offers for a kind, the commonest first; empty for a bare number."""
    return _KINDS[kind].examples


def name_of(kind: str) -> str:
    """The kind's name as a message says it, without the article: `apparent power`."""
    return _KINDS[kind].words.split(" ", 1)[1]


def describe_kind(kind: str) -> str:
    """The kind as a message says it: `a torque (Nm, in-lb)`."""
    found = _KINDS[kind]
    return f"{found.words} ({', '.join(found.examples)})" if found.examples else found.words

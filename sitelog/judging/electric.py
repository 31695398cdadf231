"""Conductors and protective devices: a cable against its sheet, a limit that the device fitted decides."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from functools import lru_cache

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import Reason
from sitelog.judging.limits import against
from sitelog.judging.rule import Outcome, RuleContext
from sitelog.judging.site import Observation
from sitelog.language.kinds.electric import Cable, Device
from sitelog.language.kinds.requirement import Factor, Limits, Requirement, compared, product
from sitelog.notation.quantities import Quantity, format_quantity
from sitelog.physics import conductors
from sitelog.physics.protection import trip_multiple

FindDevice = Callable[[str], Device | None]
SHORT_FAULT = 0.1
"""s, below which the asymmetry of the fault current, or what the device lets through, counts
(IEC 60364-4-43, 434.5.2)."""


# ---- what a cable's figures are ----------------------------------------------------------------------
class CableFigures(NamedTuple):
    """What follows from a cable's line. None where the line does not give enough."""

    resistance: Quantity | None = None  # of one conductor, at the temperature below
    temperature: Quantity | None = None
    drop_volts: Quantity | None = None
    drop: Quantity | None = None
    loss: Quantity | None = None
    adiabatic: Quantity | None = None  # the smallest size for the fault
    basis: str = ""  # of resistance, drop and loss
    fault_basis: str = ""


def figures(cable: Cable) -> CableFigures:
    """Resistance, drop, loss and adiabatic size of a cable, with what was taken for granted said."""
    found = _smallest(cable)
    if cable.size is None or cable.length is None or not cable.metal or cable.size.base <= 0:
        return found
    warm = cable.temperature
    degrees = float(warm.base) if warm is not None else conductors.ASSUMED_TEMPERATURE
    per_metre = _per_metre(cable.size, cable.metal, cable.strands, degrees)
    metres = float(cable.length.base)
    notes = [f"conductor at {degrees:g} degC" + ("" if warm is not None else " (assumed)"), per_metre.basis]
    found = found._replace(
        resistance=_quantity(per_metre.ohm * metres, "ohm", "resistance"),
        temperature=warm or Quantity(Decimal(f"{degrees:g}"), "degC", "temperature", Decimal(f"{degrees:g}")),
    )
    if cable.current is not None:
        amperes = float(cable.current.base)
        cos_phi = float(cable.cos_phi) if cable.cos_phi is not None else 1.0
        volts = _quantity(
            conductors.voltage_drop(per_metre.ohm, metres, amperes, cable.system, cos_phi), "V", "voltage"
        )
        notes.append(_system(cable, cos_phi))
        share = None
        if cable.voltage is not None and cable.voltage.base:
            percent = _quantity(float(volts.base / cable.voltage.base * 100), "%", "ratio")
            share = percent._replace(base=volts.base / cable.voltage.base)
        watts = conductors.power_loss(per_metre.ohm, metres, amperes, cable.system)
        found = found._replace(drop_volts=volts, drop=share, loss=_quantity(watts, "W", "power"))
    return found._replace(basis="; ".join(notes))


@lru_cache(maxsize=1024)
def _per_metre(size: Quantity, metal: str, strands: str, degrees: float) -> conductors.PerMetre:
    """By the tables of the size's own trade: AWG and kcmil by the NEC, mm² by IEC 60228."""
    if size.unit == "AWG":
        cmil = conductors.cmil_of(float(size.base))
        return conductors.gauge(int(size.number), cmil, metal, strands, degrees)
    if size.unit == "kcmil":
        return conductors.circular_mils(float(size.number) * 1000, metal, strands == "1", degrees)
    return conductors.metric(float(size.base), metal, strands or "2", degrees)


def _system(cable: Cable, cos_phi: float) -> str:
    if cable.system == "dc":
        return "direct current, there and back"
    phases = "line to line" if cable.system == "3ph" else "there and back"
    return f"{phases}, cos phi {cos_phi:g}" + ("" if cable.cos_phi is not None else " (assumed)")


def _smallest(cable: Cable) -> CableFigures:
    if cable.fault is None or cable.fault_time is None or not cable.metal:
        return CableFigures()
    insulation = cable.insulation or "pvc"
    area = float(cable.size.base) if cable.size is not None else 0.0
    k = conductors.k_factor(cable.metal, insulation, area, cable.separate)
    size = conductors.adiabatic_size(float(cable.fault.base), float(cable.fault_time.base), k)
    assumed = "" if cable.insulation else " (assumed)"
    basis = (
        f"{format_quantity(cable.fault)} for {format_quantity(cable.fault_time)},"
        f" {insulation.upper()}{assumed}{', laid separately' if cable.separate else ''}, k {k:g}"
    )
    return CableFigures(adiabatic=_quantity(size, "mm2", "area"), fault_basis=basis)


def _quantity(number: float, unit: str, kind: str) -> Quantity:
    """A computed value: shown with four digits, judged by all of them."""
    written = Decimal(f"{number:.4g}")
    plain = written.quantize(Decimal(1)) if written == written.to_integral() else written  # 120, not 1.2E+2
    return Quantity(plain, unit, kind, Decimal(repr(number)))


def _told_apart(value: Quantity, limits: Limits) -> Quantity:
    """A computed value with as many digits as tell it from its limit: 3.0004 %, and not 3 %, is above 3 %."""
    ends = [end for end in (limits.low, limits.high) if end is not None and end.unit == value.unit]
    for end in ends:
        if value.number == end.number and value.base != end.base and end.base:
            exact = end.number * value.base / end.base
            for digits in range(5, 13):
                shown = Decimal(f"{exact:.{digits}g}")
                if shown != end.number:
                    return value._replace(number=shown)
    return value


# ---- a cable against its sheet -----------------------------------------------------------------------
def judge_cable(requirement: Requirement, obs: Observation, context: RuleContext) -> Outcome:
    """A cable: what its sheet asks of it, and that current, fuse and capacity stand in that order."""
    cable = obs.record
    assert isinstance(cable, Cable)
    computed = figures(cable)
    values = _values(cable, computed)
    reasons: list[Reason] = []
    margins: list[float] = []
    for name, asked in requirement.items:
        value = computed.drop_volts if name == "drop" and asked.kind == "voltage" else values.get(name)
        wanted = _reference(asked)
        limit = values.get(wanted) if wanted else None
        if value is None or (wanted and limit is None):
            reasons.append(_open(requirement, name, _lacking(cable, name if value is None else wanted)))
            continue
        limits = compared(asked.formula_side, limit)._replace(text=asked.text) if wanted else asked
        value = _told_apart(value, limits)
        found = against("cable", value, limits, None, 0.0, f"{requirement.place} {name}")
        if found.reasons:
            fault_basis = computed.fault_basis * (wanted == "adiabatic")
            beside = _beside(requirement, asked, computed.basis if name in ("drop", "loss") else fault_basis)
            reasons += [reason._replace(message=reason.message + beside) for reason in found.reasons]
        if found.margin is not None:
            margins.append(found.margin)
        if wanted == "adiabatic":
            reasons += _outside_adiabatic(requirement, cable)
    reasons += _in_order(requirement, cable)
    drop = (("drop", computed.drop),) if computed.drop is not None else ()
    return Outcome(tuple(dict.fromkeys(reasons)), margin=min(margins, default=None), computed=drop)


def _open(requirement: Requirement, name: str, lacking: str) -> Reason:
    message = f"{requirement.place}: the {name} cannot be judged; the log does not give {lacking}"
    return Reason(
        "doubtful", "doubtful", message, "for example: 6 mm2 Cu 4.5 m 20 A at 307 V dc capacity 43 A"
    )


def _values(cable: Cable, computed: CableFigures) -> dict[str, Quantity | None]:
    return {
        "drop": computed.drop,
        "loss": computed.loss,
        "adiabatic": computed.adiabatic,
        "size": cable.size,
        "length": cable.length,
        "current": cable.current,
        "voltage": cable.voltage,
        "capacity": cable.capacity,
        "fuse": cable.fuse,
        "temperature": cable.temperature,
    }


def _reference(limits: Limits) -> str:
    """The other value of the cable that a limit names: `size >= adiabatic`, `capacity >= fuse`."""
    return limits.formula[0].reference.casefold() if limits.formula else ""


def _beside(requirement: Requirement, limits: Limits, basis: str) -> str:
    """What stands beside a finding: the limit, its source, and what a computed figure rests on."""
    limit = ", ".join(filter(None, (limits.text, requirement.source)))
    return f" ({'; '.join(filter(None, (limit, basis)))})"


def _lacking(cable: Cable, name: str) -> str:
    """Which of the values that a figure follows from are not in the log."""
    wanted: dict[str, object]
    if name in ("drop", "loss"):
        wanted = {"size": cable.size, "metal": cable.metal, "length": cable.length, "current": cable.current}
        if name == "drop":
            wanted["system voltage"] = cable.voltage
    elif name == "adiabatic":
        wanted = {"metal": cable.metal, "fault current": cable.fault, "fault's time": cable.fault_time}
    else:
        return f"its {name}"
    return "its " + ", ".join(word for word, value in wanted.items() if not value)


def _outside_adiabatic(requirement: Requirement, cable: Cable) -> list[Reason]:
    """Where the simple formula does not hold."""
    seconds = float(cable.fault_time.base) if cable.fault_time is not None else 1.0
    if seconds > conductors.LONGEST_FAULT:
        message = (
            f"{requirement.place}: a fault of more than 5 s heats more than the conductor; no formula holds"
        )
        return [Reason("doubtful", "doubtful", message, "the whole cable has to be reckoned with")]
    if seconds < SHORT_FAULT:
        message = f"{requirement.place}: below 0.1 s the energy that the device lets through decides"
        return [Reason("doubtful", "doubtful", message, "hold the device's I²t against k²S²")]
    return []


def _in_order(requirement: Requirement, cable: Cable) -> list[Reason]:
    """The current at most that of the fuse, the fuse at most the capacity.

    Source: IEC 60364-4-43, 433.1 (from memory).
    """
    pairs = (
        ("fuse", cable.fuse, "cable's capacity", cable.capacity, "a smaller fuse or a larger cable"),
        ("current", cable.current, "cable's capacity", cable.capacity, "a larger cable, or less current"),
        (
            "current",
            cable.current,
            "fuse",
            cable.fuse,
            "it will open in service; see which is written wrongly",
        ),
    )
    return [
        Reason(
            "over",
            "over",
            f"{requirement.place}: the {name} of {format_quantity(value)} is above the {other} of"
            f" {format_quantity(most)} (IEC 60364-4-43, 433.1)",
            help,
        )
        for name, value, other, most, help in pairs
        if value is not None and most is not None and value.base > most.base
    ]


# ---- limits that the device fitted decides -----------------------------------------------------------
def resolve(limits: Limits, context: RuleContext | FindDevice) -> tuple[Limits, Reason | None]:
    """The limits with their formula worked out, or the reason why that cannot be done yet.

    The text of what comes back names the device, since another one would give another limit.
    """
    if not limits.formula:
        return limits, None
    find = context.device if isinstance(context, RuleContext) else context
    factors: list[Factor] = []
    devices: dict[str, str] = {}
    for factor in limits.formula:
        if not factor.reference:
            factors.append(factor)
            continue
        name, _, part = factor.reference.rpartition(".")
        device = find(name)
        quantity = of_device(device, part.casefold()) if device is not None else None
        if device is None or quantity is None:
            what = f"device {name or factor.reference}" if device is None else f"the {part} of {name}"
            message = f"the limit `{limits.text}` needs {what}, which the log does not give"
            help = f"for example: device {name or 'q2'} C 32 A 6 kA"
            return limits, Reason("missing", "missing", message, help)
        devices[name] = describe(device)
        factors.append(Factor(factor.divide, quantity, ""))
    q = product(None, factors)
    if q is None:
        message = f"the limit `{limits.text}` is of no sort of quantity that is known"
        return limits, Reason("doubtful", "doubtful", message)
    rounded = q._replace(number=Decimal(f"{q.number:.5g}"))
    fitted = " and ".join(f"{name} {words}" for name, words in devices.items())
    return compared(limits.formula_side, rounded)._replace(text=f"{limits.text}, for {fitted}"), None


def of_device(device: Device, part: str) -> Quantity | None:
    """What a formula calls `q2.Ia`, `q2.In`, `q2.Icn`, `rcd2.IdN`; None where the log does not give it."""
    if part == "ia":
        multiple = trip_multiple(device.curve)
        if device.rating is None or multiple is None:
            return None
        amperes = multiple * device.rating.base
        return Quantity(amperes, "A", "current", amperes)
    if part in ("in", "rating"):
        return device.rating
    if part in ("breaking", "icn"):
        return device.breaking
    return device.residual if part in ("residual", "idn") else None


def describe(device: Device) -> str:
    """A device as it is marked: `C 32 A 6 kA`, `type A 30 mA`."""
    words = [device.curve, f"type {device.type}" if device.type else ""]
    words += [format_quantity(q) for q in (device.rating, device.breaking, device.residual) if q is not None]
    return " ".join(filter(None, words))

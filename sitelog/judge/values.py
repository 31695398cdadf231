"""What each sort of thing is judged by, once its mark is found: one rule per kind, in `RULES`."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple

from sitelog.judge.limits import against, describe, side
from sitelog.judge.tools import NOTHING, Behind, Toolbox, behind
from sitelog.kinds.asked import Asked, Factor, Limits, compared, product
from sitelog.kinds.electric import Cable, Device
from sitelog.kinds.look import ANSWERS_OK
from sitelog.kinds.reading import Reading
from sitelog.physics.conductors import ASSUMED_TEMPERATURE, resistance_per_metre, voltage_drop
from sitelog.quantities import Quantity, format_quantity
from sitelog.site import Mark
from sitelog.verdicts import Reason

TRIP_MULTIPLES = {"B": 5, "C": 10, "D": 20}
"""Upper end of instantaneous tripping as a multiple of the rating (IEC 60898-1, table 7)."""


class Around(NamedTuple):
    """What a rule may look at besides the requirement and the mark."""

    box: Toolbox
    guard: float
    device: Callable[[str], Device | None]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a rule found: reasons, the limits in force, and the tool behind the value."""

    reasons: tuple[Reason, ...] = ()
    limits: Limits = Limits()
    margin: float | None = None
    probability: float | None = None
    behind: Behind = NOTHING
    computed: tuple[tuple[str, Quantity], ...] = ()


Rule = Callable[[Asked, Mark, Around], Outcome]


def _measured(one: Asked, mark: Mark, around: Around) -> Outcome:
    """A joint, a reading or a dead test: its value against the limits, and the tool behind it."""
    limits, missing = resolve(one.limits, around)
    displayed = isinstance(mark.record, Reading) and bool(mark.record.displayed)
    if mark.value is None:
        return replace(_answered(one, mark), limits=limits)
    if limits.word and not limits.kind:
        message = f"{_about(one)}: {format_quantity(mark.value)}, and `{limits.word}` is asked"
        return Outcome((Reason("not-ok", "not-ok", message),), limits)
    tool = NOTHING if displayed else behind(mark, around.box)
    if missing:
        return Outcome((missing, *tool.reasons), limits, behind=tool)
    value, extra = mark.value, list(tool.reasons)
    if mark.mode in ("held", "moved"):
        # It held at this torque, so the joint is at least that tight: there is no upper limit to it.
        value, limits = value._replace(bound=">"), limits._replace(high=None)
    found = against(one.kind, value, limits, tool.u, around.guard, _about(one))
    if mark.mode == "held" and [reason.verdict for reason in found.reasons] == ["doubtful"]:
        message = f"{_about(one)} held {format_quantity(mark.value)}, which leaves open whether it is {describe(limits)}"
        found = found._replace(reasons=(Reason("doubtful", "doubtful", message, "check it again at the lowest torque allowed"),))
    if mark.mode == "moved":
        extra.append(Reason("doubtful", "doubtful", f"{_about(one)} moved at the re-torque check", "see why it had lost torque"))
    return Outcome((*found.reasons, *extra), limits, found.margin, found.probability, tool)


def _about(one: Asked) -> str:
    return f"{one.what} {one.place}".strip()


def _answered(one: Asked, mark: Mark) -> Outcome:
    """A reading that was answered with a word: `no-trip`, `ok`, `not ok`."""
    answer = mark.word.casefold()
    if one.limits.word:
        if answer == one.limits.word.casefold():
            return Outcome()
        return Outcome((Reason("not-ok", "not-ok", f"{_about(one)}: `{mark.word}`, and `{one.limits.word}` is asked"),))
    if answer.startswith("not "):
        return Outcome((Reason("not-ok", "not-ok", f"{_about(one)} was found {answer}"),))
    if answer in ANSWERS_OK and not one.limits.kind and not one.limits.formula:
        return Outcome()
    if answer == "no-trip" and one.limits.kind:
        return Outcome((Reason("not-ok", "not-ok", f"{_about(one)} did not trip ({one.limits.text} is asked)"),))
    message = f"{_about(one)}: `{mark.word}` is no value that can be held against the sheet"
    return Outcome((Reason("doubtful", "doubtful", message, "write the value with its unit"),))


def _hole(one: Asked, mark: Mark, around: Around) -> Outcome:
    """A hole, judged twice."""
    assert mark.value is not None and mark.second is not None
    width = against("hole", mark.value, one.limits, None, 0.0, f"{one.place} diameter")
    depth = against("hole", mark.second, one.second, None, 0.0, f"{one.place} depth")
    margins = [share for share in (width.margin, depth.margin) if share is not None]
    reasons = tuple(dict.fromkeys((*width.reasons, *depth.reasons)))
    return Outcome(reasons, one.limits, min(margins, default=None))


def _look(one: Asked, mark: Mark, around: Around) -> Outcome:
    answer = mark.word
    if answer.startswith("not "):
        return Outcome((Reason("not-ok", "not-ok", f"{_about(one)} was found {answer}"),))
    wanted = one.limits.word.casefold()
    if answer in ANSWERS_OK or (wanted and answer == wanted):
        return Outcome()
    if wanted:
        return Outcome((Reason("not-ok", "not-ok", f"{_about(one)}: `{answer}`, and `{wanted}` is asked"),))
    message = f"{_about(one)}: the sheet does not say whether `{answer}` is right"
    return Outcome((Reason("doubtful", "doubtful", message, "answer `ok` or `not ok`, and put the word into the remark"),))


def _done(one: Asked, mark: Mark, around: Around) -> Outcome:
    return Outcome()


def _part(one: Asked, mark: Mark, around: Around) -> Outcome:
    if one.pattern and not re.fullmatch(_pattern(one.pattern), mark.word):
        message = f"{one.place}: `{mark.word}` does not look like `{one.pattern}`"
        return Outcome((Reason("not-ok", "serial-pattern", message, "read the label again; `#` stands for one digit"),))
    return Outcome()


def _pattern(pattern: str) -> str:
    return "".join(r"\d" if sign == "#" else re.escape(sign) for sign in pattern)


_SIGNS = {">=": "ATLEAST", "=>": "ATLEAST", "≥": "ATLEAST", "<=": "ATMOST", "=<": "ATMOST", "≤": "ATMOST"} | {
    ">": "MORE",
    "<": "LESS",
    "=": "EQUALS",
}


def _setting(one: Asked, mark: Mark, around: Around) -> Outcome:
    limits, value = one.limits, mark.word
    if limits.kind and limits.kind != "number":
        if mark.value is None:
            return Outcome((Reason("doubtful", "no-unit", f"{_about(one)}: `{value}` has no unit"),), limits)
        return Outcome(against("set", mark.value, limits, None, 0.0, _about(one)).reasons, limits)
    if limits.word:
        if value.casefold() == limits.word.casefold():
            return Outcome(limits=limits)
        return Outcome((Reason("not-ok", "not-ok", f"{_about(one)} is `{value}`, and `{limits.word}` is asked"),), limits)
    found = re.fullmatch(r"([<>=≥≤]+)?\s*(\S+)", limits.text)
    if not limits.text or found is None:
        return Outcome(limits=limits)
    if ".." in found[2]:
        low, high = found[2].split("..")
        checks = [("ATLEAST", low), ("ATMOST", high)]
    else:
        checks = [(_SIGNS.get(found[1] or "=", "EQUALS"), found[2])]
    for sign, wanted in checks:
        order = compare_versions(value, wanted)
        if order is None:
            return Outcome((Reason("doubtful", "doubtful", f"`{value}` cannot be held against `{limits.text}`"),), limits)
        if (order < 0 and sign in ("ATLEAST", "MORE", "EQUALS")) or (order == 0 and sign == "MORE"):
            return Outcome((Reason("under", "under", f"{_about(one)} {value} is below `{limits.text}`"),), limits)
        if (order > 0 and sign in ("ATMOST", "LESS", "EQUALS")) or (order == 0 and sign == "LESS"):
            return Outcome((Reason("over", "over", f"{_about(one)} {value} is above `{limits.text}`"),), limits)
    return Outcome(limits=limits)


def version(text: str) -> tuple[int, ...] | None:
    """The pieces of a version, so that 2.3.12 is later than 2.3.9; None where it is none."""
    found = re.fullmatch(r"[vV]?(\d{1,9}(?:\.\d{1,9})*)", text)
    return tuple(int(piece) for piece in found[1].split(".")) if found else None


def compare_versions(one: str, other: str) -> int | None:
    """-1, 0 or 1; missing pieces count as 0."""
    a, b = version(one), version(other)
    if a is None or b is None:
        return None
    length = max(len(a), len(b))
    a, b = a + (0,) * (length - len(a)), b + (0,) * (length - len(b))
    return (a > b) - (a < b)


def _cable(one: Asked, mark: Mark, around: Around) -> Outcome:
    cable = mark.record
    assert isinstance(cable, Cable)
    reasons: list[Reason] = []
    found: list[tuple[str, Quantity]] = []
    drop = drop_of(cable)
    if drop is not None:
        found.append(("drop", drop))
    for name, limits in one.items:
        value = drop if name == "drop" else getattr(cable, name, None)
        if name == "drop" and limits.kind == "voltage":
            value = drop_in_volts(cable)
        if value is None:
            message = f"{one.place}: the {name} cannot be judged; the log does not give " + _lacking(cable, name)
            reasons.append(Reason("doubtful", "doubtful", message))
            continue
        reasons += against("cable", value, limits, None, 0.0, f"{one.place} {name}").reasons
    if cable.fuse is not None and cable.capacity is not None and cable.fuse.base > cable.capacity.base:
        fuse, capacity = format_quantity(cable.fuse), format_quantity(cable.capacity)
        message = f"{one.place}: the fuse of {fuse} is above the cable's capacity of {capacity}"
        reasons.append(Reason("over", "over", message, "a smaller fuse or a larger cable"))
    return Outcome(tuple(reasons), computed=tuple(found))


def drop_in_volts(cable: Cable) -> Quantity | None:
    """The computed voltage drop at the conductor temperature stated, or at 70 °C."""
    if cable.size is None or cable.length is None or cable.current is None:
        return None
    if cable.size.base <= 0:
        return None
    temperature = float(cable.temperature.base) if cable.temperature is not None else ASSUMED_TEMPERATURE
    per_metre = resistance_per_metre(float(cable.size.base), cable.metal or "copper", cable.strands, temperature)
    volts = Decimal(f"{voltage_drop(per_metre, float(cable.length.base), float(cable.current.base), cable.system):.4g}")
    return Quantity(volts, "V", "voltage", volts)


def drop_of(cable: Cable) -> Quantity | None:
    """The computed drop as a share of the system's voltage."""
    volts = drop_in_volts(cable)
    if volts is None or cable.voltage is None or not cable.voltage.base:
        return None
    share = volts.base / cable.voltage.base
    percent = Decimal(f"{share * 100:.4g}")
    return Quantity(percent, "%", "ratio", percent / 100)


def _lacking(cable: Cable, name: str) -> str:
    if name != "drop":
        return f"its {name}"
    wanted = {"size": cable.size, "length": cable.length, "current": cable.current, "system voltage": cable.voltage}
    return ", ".join(word for word, value in wanted.items() if value is None)


def _series(one: Asked, mark: Mark, around: Around) -> Outcome:
    message = f"{one.what}: the trial's file {mark.word} has still to be judged by a person"
    return Outcome((Reason("doubtful", "doubtful", message),))


RULES: dict[str, Rule] = {
    "joint": _measured,
    "reading": _measured,
    "dead": _measured,
    "hole": _hole,
    "look": _look,
    "part": _part,
    "step": _done,
    "set": _setting,
    "cable": _cable,
    "series": _series,
    "photo": _done,
    "registered": _done,
    "ref": _done,
}


def satisfied(one: Asked, mark: Mark, device: Callable[[str], Device | None]) -> bool:
    """Whether a mark's value does not fail, which is all that `after` asks of it."""
    if one.kind in ("joint", "reading", "dead", "hole") and mark.value is not None:
        limits, _ = resolve(one.limits, device)
        if limits.kind and mark.value.kind == limits.kind and side(mark.value, limits) in ("under", "over"):
            return False
        if one.kind == "hole" and mark.second is not None and one.second.kind:
            return side(mark.second, one.second) not in ("under", "over")
        return True
    return not mark.word.startswith("not ") if one.kind in ("look", "reading") else True


# ---- limits that the device fitted decides ---------------------------------------------------------------
def resolve(limits: Limits, around: Around | Callable[[str], Device | None]) -> tuple[Limits, Reason | None]:
    """The limits with their formula worked out, or the reason why that cannot be done yet."""
    if not limits.formula:
        return limits, None
    find = around.device if isinstance(around, Around) else around
    factors: list[Factor] = []
    for factor in limits.formula:
        if not factor.reference:
            factors.append(factor)
            continue
        name, _, part = factor.reference.rpartition(".")
        device = find(name)
        quantity = _of_device(device, part.casefold()) if device is not None else None
        if quantity is None:
            what = f"device {name or factor.reference}" if device is None else f"the {part} of {name}"
            message = f"the limit `{limits.text}` needs {what}, which the log does not give"
            return limits, Reason("missing", "missing", message, f"for example: device {name or 'q2'} C 32 A 6 kA")
        factors.append(Factor(factor.divide, quantity, ""))
    q = product(None, factors)
    if q is None:
        return limits, Reason("doubtful", "doubtful", f"the limit `{limits.text}` is of no sort of quantity that is known")
    rounded = q._replace(number=Decimal(f"{q.number:.5g}"))
    return compared(limits.formula_side, rounded)._replace(text=limits.text), None


def _of_device(device: Device, part: str) -> Quantity | None:
    if part == "ia":
        if device.rating is None or device.curve not in TRIP_MULTIPLES:
            return None
        amperes = TRIP_MULTIPLES[device.curve] * device.rating.base
        return Quantity(amperes, "A", "current", amperes)
    if part in ("in", "rating"):
        return device.rating
    if part in ("breaking", "icn"):
        return device.breaking
    return device.residual if part in ("residual", "idn") else None


"""What a sheet asks for: one `Requirement` per thing and place, with its limits, its order and its source."""

from __future__ import annotations

import re
from decimal import Decimal

from sitelog.base.frozen import NamedTuple
from sitelog.language.kinds.base import Condition, Reader, split_value, unquoted
from sitelog.language.kinds.kind import SHEET
from sitelog.language.syntax.tokens import Node, Token
from sitelog.notation.quantities import (
    Problem,
    Quantity,
    difference_in_base,
    find_unit,
    in_base,
    kind_problem,
    read_quantity,
)


class Factor(NamedTuple):
    """One factor of a computed limit: a quantity, or a reference such as `q2.Ia`; divided or multiplied."""

    divide: bool
    quantity: Quantity | None
    reference: str


class Limits(NamedTuple):
    """The values a thing may have. A limit belongs to the allowed values unless it is `open`.

    `formula` stands for a limit that only the device fitted decides; `word` is a wanted answer; `per` is the
    change of the state of charge that an energy is asked for.
    """

    low: Quantity | None = None
    high: Quantity | None = None
    target: Quantity | None = None
    low_open: bool = False
    high_open: bool = False
    formula: tuple[Factor, ...] = ()
    formula_side: str = ""
    word: str = ""
    text: str = ""
    per: Quantity | None = None

    @property
    def kind(self) -> str:
        """The quantity kind that the limits are in; empty where there are none."""
        q = self.low or self.high or self.target
        return q.kind if q is not None else ""


class Every(NamedTuple):
    """An interval in whole months or days."""

    months: int
    days: int
    text: str


class Requirement(NamedTuple):
    """One thing that a sheet asks, at one place."""

    kind: str  # joint, hole, reading, …: the word that begins the line
    what: str  # the sort of reading, look, setting; empty where the place says all
    place: str
    limits: Limits
    second: Limits  # a hole's depth
    condition: Condition | None
    after: tuple[str, ...]
    before: tuple[str, ...]
    states: tuple[tuple[str, str], ...]  # `while`: (state, place)
    wait: Quantity | None
    every: Every | None
    visit: str  # `for service`; empty: once, at the install
    source: str
    caution: str
    reopens: tuple[str, ...]
    pattern: str
    size: str
    grade: str  # a bolt's property class
    items: tuple[tuple[str, Limits], ...]  # a cable's drop, size, capacity; a trial's energy
    sheet: str
    file: str
    line: int
    check: str = ""  # the scheme of a serial's check digits
    text: str = ""  # the line as written
    displayed: str = ""  # the equipment whose own display counts for it
    further: tuple[Condition, ...] = ()  # the conditions behind the first one

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """Every condition asked, in the sheet's order."""
        return (self.condition, *self.further) if self.condition is not None else ()

    @property
    def at(self) -> str:
        """The conditions as text, `30 mA, 180 deg`; empty where none is asked."""
        return ", ".join([condition.text for condition in self.conditions])

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What it is about: kind, what, place and condition, in small letters."""
        condition = ", ".join([condition.key for condition in self.conditions])
        return self.kind, self.what.casefold(), self.place.casefold(), condition

    @property
    def name(self) -> str:
        """What people call it: `insulation dc-pos/earth at 500 V`, `joint bracket-4`."""
        about = " ".join(filter(None, (self.what, self.place)))
        named = about if SHEET[self.kind].plain else f"{self.kind} {about}"
        return named + (f" at {self.at}" if self.condition is not None else "")


NO_LIMITS = Limits()


def asked(
    reader: Reader,
    kind: str,
    what: str,
    places: tuple[str, ...],
    limits: Limits = NO_LIMITS,
    second: Limits = NO_LIMITS,
    *,
    items: tuple[tuple[str, Limits], ...] = (),
    size: str = "",
    grade: str = "",
) -> list[Requirement]:
    """One `Requirement` per place, with the clauses that every kind of sheet line may have."""
    if SHEET[kind].placed and not places:
        return []
    wait_node, every, visit = reader.node("wait"), reader.node("every"), reader.node("for")
    after_node = wait_node or reader.node("after")
    wait = None
    after: tuple[str, ...] = ()
    if after_node is not None:
        if (plain := after_node.child("plain")) is not None:
            wait = reader.value(plain, ("time",))
        after = _named(reader, after_node)
    before = _named(reader, reader.node("before"))
    reopens = _named(reader, reader.node("reopens"))
    conditions = reader.conditions(reader.node("at"))
    like, display = reader.node("like"), reader.node("from")
    return [
        Requirement(
            kind=kind,
            what=what,
            place=place,
            limits=limits,
            second=second,
            condition=conditions[0] if conditions else None,
            after=after,
            before=before,
            states=_states(reader.node("while")),
            wait=wait,
            every=_every(reader, every),
            visit=visit.tokens()[1].text.casefold() if visit is not None else "",
            source=_quoted(reader.node("source_clause")),
            caution=_quoted(reader.node("caution")),
            reopens=reopens,
            pattern=_quoted(like),
            size=size,
            grade=grade,
            items=items,
            sheet="",
            file=reader.file,
            line=reader.entry.number,
            text=reader.entry.text,
            further=conditions[1:],
            displayed=display.tokens()[1].text if display is not None else "",
        )
        for place in places or ("",)
    ]


def _named(reader: Reader, clause: Node | None) -> tuple[str, ...]:
    places = clause.child("places") if clause is not None else None
    return tuple(place.name for place in reader.places(places)) if places is not None else ()


def _quoted(node: Node | None) -> str:
    return unquoted(node.tokens()[-1].text) if node is not None else ""


def _states(node: Node | None) -> tuple[tuple[str, str], ...]:
    found: list[tuple[str, str]] = []
    for child in node.children if node is not None else ():
        if isinstance(child, Node):
            words = [token.text for token in child.tokens()]
            found.append((words[0], words[1] if len(words) > 1 else ""))
    return tuple(found)


_INTERVALS = {"day": (0, 1), "week": (0, 7), "month": (1, 0), "year": (12, 0)}


def _every(reader: Reader, node: Node | None) -> Every | None:
    if node is None:
        return None
    words = [token.text for token in node.tokens()[1:]]
    count, unit = (words[0], words[1]) if len(words) == 2 else ("1", words[0])
    interval = _INTERVALS.get(unit.casefold().removesuffix("s"))
    if interval is None or not count.isdigit() or not 0 < int(count[:6]) < 10_000:
        reader.say("unreadable", "an interval is `every 12 months`", node.start, node.end)
        return None
    months, days = interval
    return Every(months * int(count), days * int(count), reader.text_of(node).removeprefix("every").strip())


# ---- limits ------------------------------------------------------------------------------------------
def limit_nodes(reader: Reader) -> list[Node]:
    """The parts of an entry that state its limits: `<= 1 ohm`, or `>= 270 V <= 345 V`."""
    return [*reader.nodes("limit"), *reader.nodes("compare")]


def limits_of(reader: Reader, nodes: list[Node], kinds: tuple[str, ...] = ()) -> Limits:
    """The limits that `limit` and `compare` parts state; said why where one cannot be meant."""
    found = NO_LIMITS
    for node in nodes:
        one = _limit(reader, node if node.name == "compare" else node.nodes()[0], kinds)
        if (found.low and one.low) or (found.high and one.high):
            reader.say("bad-range", "two limits on the same side", node.start, node.end)
        found = _merged(found, one)
    text = " ".join(reader.text_of(node) for node in nodes)
    low, high = found.low, found.high
    if low is not None and high is not None:
        if low.kind != high.kind:
            reader.say("unit-kind", f"`{text}` mixes two sorts of quantity", nodes[0].start, nodes[-1].end)
            return NO_LIMITS
        if low.base > high.base:
            reader.say("bad-range", f"`{text}` runs backwards", nodes[0].start, nodes[-1].end)
            return NO_LIMITS
    return found._replace(text=text)


def _merged(one: Limits, other: Limits) -> Limits:
    """Both limits together, each side from the first that states it."""
    return Limits._make(mine or theirs for mine, theirs in zip(one, other, strict=True))


def _limit(reader: Reader, node: Node, kinds: tuple[str, ...]) -> Limits:
    if node.name == "between":
        return _between(reader, node, kinds)
    if node.name == "nominal":
        return _nominal(reader, node, kinds)
    return _compare(reader, node, kinds)


def _between(reader: Reader, node: Node, kinds: tuple[str, ...]) -> Limits:
    tokens = node.tokens()
    low, high = tokens[0].text.split("..")
    ends = [_made(reader, number, tokens[1].text, node, kinds) for number in (low, high)]
    return Limits(low=ends[0], high=ends[1]) if None not in ends else NO_LIMITS


def _made(reader: Reader, number: str, unit: str, node: Node, kinds: tuple[str, ...]) -> Quantity | None:
    quantity, problems = read_quantity(number, unit)
    if reader.report(problems, node.start, node.end) or quantity is None:
        return None
    if kinds and (problem := kind_problem(quantity, kinds)):
        reader.report((problem,), node.start, node.end)
        return None
    return quantity


# `5..35degC`, with the unit glued to the span.
_GLUED_SPAN = re.compile(
    r"([+-]?\d+(?:[.,]\d+)?)\.\.([+-]?\d+(?:[.,]\d+)?)([^\d\s.].*?)(?:\s+(?:ac|dc))?", re.IGNORECASE
)


def _nominal(reader: Reader, node: Node, kinds: tuple[str, ...]) -> Limits:
    parts = split_value(node.nodes()[0])
    if (span_in_one := _GLUED_SPAN.fullmatch(reader.text_of(node))) is not None:
        low, high, unit = span_in_one.groups()
        glued = [_made(reader, number, unit, node, kinds) for number in (low, high)]
        return Limits(low=glued[0], high=glued[1]) if None not in glued else NO_LIMITS
    tolerance = node.child("tolerance")
    span = next((child for child in node.children if isinstance(child, Token) and child.type == "SPAN"), None)
    unit = parts.unit
    amount = split_value(tolerance.nodes()[0]) if tolerance is not None else None
    if not unit and amount is not None and amount.unit != "%":
        unit = amount.unit
    span_unit = next((child.tokens()[0].text for child in node.nodes()[1:]), "") if span is not None else ""
    if not unit and span_unit != "%":
        unit = span_unit
    target = _made(reader, parts.number, unit, node, kinds)
    if target is None:
        return NO_LIMITS
    if span is not None:
        if span_unit not in ("", "%", unit):
            reader.say(
                "unit-kind", "the tolerance is written in another unit than the value", node.start, node.end
            )
            return NO_LIMITS
        ends = sorted(_decimal(piece) for piece in span.text.split("/"))
        if span_unit == "%" and unit != "%":  # `230 V +10/-6 %`
            ends = [abs(target.number) * end / 100 for end in ends]
        return Limits(_shifted(target, ends[0]), _shifted(target, ends[1]), target)
    if amount is None:
        return Limits(target, target, target)
    width, problems = read_quantity(amount.number, amount.unit or unit)
    if reader.report(problems, node.start, node.end) or width is None:
        return NO_LIMITS
    if width.kind == "ratio" and target.kind != "ratio":
        step = abs(target.number) * width.base
    else:
        if width.kind != target.kind:
            reader.say("unit-kind", "the tolerance is of another sort than the value", node.start, node.end)
            return NO_LIMITS
        step = _step(width, target)
    return Limits(_shifted(target, -step), _shifted(target, step), target)


def _decimal(text: str) -> Decimal:
    return Decimal(text.replace(",", "."))


def _step(width: Quantity, target: Quantity) -> Decimal:
    """A tolerance in the target's unit, without offset."""
    if width.unit == target.unit:
        return width.number
    one, other = find_unit(width.unit), find_unit(target.unit)
    assert not isinstance(one, Problem)
    assert not isinstance(other, Problem)
    return difference_in_base(width.number, one) * other.denominator / other.numerator


def _shifted(target: Quantity, step: Decimal) -> Quantity:
    unit = find_unit(target.unit) if target.unit else None
    number = target.number + step
    number = number.normalize() if number else Decimal(0)
    number = number.quantize(Decimal(1)) if number == number.to_integral() else number  # 60, not 6E+1
    if unit is None or isinstance(unit, Problem):
        return target._replace(number=number, base=number, text="")
    return target._replace(number=number, base=in_base(number, unit), text="")


def compared(side: str, quantity: Quantity | None, word: str = "") -> Limits:
    """The limits that a comparison sign makes of a value."""
    if side in ("ATLEAST", "MORE"):
        return Limits(low=quantity, low_open=side == "MORE")
    if side in ("ATMOST", "LESS"):
        return Limits(high=quantity, high_open=side == "LESS")
    return Limits(low=quantity, high=quantity, target=quantity, word=word)


def _compare(reader: Reader, node: Node, kinds: tuple[str, ...]) -> Limits:
    sign, expression = node.children
    assert isinstance(sign, Token)
    assert isinstance(expression, Node)
    factors = _factors(reader, expression)
    if factors is None:
        return NO_LIMITS
    if len(factors) == 1 and factors[0].reference:
        # `= self-use` is a wanted word; `<= q2.breaking` waits for the device.
        if sign.type == "EQUALS":
            return Limits(word=factors[0].reference)
    elif all(factor.quantity is not None for factor in factors):
        quantity = product(reader, factors, expression)
        if quantity is not None and kinds and (problem := kind_problem(quantity, kinds)):
            reader.report((problem,), expression.start, expression.end)
            quantity = None
        return compared(sign.type, quantity) if quantity is not None else NO_LIMITS
    return Limits(formula=tuple(factors), formula_side=sign.type)


def _factors(reader: Reader, node: Node) -> list[Factor] | None:
    found: list[Factor] = []
    divide = False
    for child in node.children:
        if isinstance(child, Token):
            if child.type == "SLASH":
                divide = True
            elif child.type == "WORD":
                found.append(Factor(divide, None, child.text))
                divide = False
            elif child.type == "STAR":
                divide = False
            continue
        if child.name == "expression":
            inner = _factors(reader, child)
            if inner is None:
                return None
            found += [factor._replace(divide=factor.divide != divide) for factor in inner]
        else:
            quantity = reader.value(child)
            if quantity is None:
                return None
            found.append(Factor(divide, quantity, ""))
        divide = False
    return found


# What two kinds of quantity make when one is divided by the other: (over, under) → kind and base unit.
_QUOTIENTS = {("voltage", "current"): ("resistance", "ohm"), ("energy", "voltage"): ("charge", "Ah")}


def product(reader: Reader | None, factors: list[Factor], node: Node | None = None) -> Quantity | None:
    """The product of known factors as a quantity; None (and said why) where it is no known kind."""
    if len(factors) == 1:
        return factors[0].quantity
    from fractions import Fraction  # few limits are computed

    value = Fraction(1)
    over = under = ""
    for factor in factors:
        q = factor.quantity
        assert q is not None
        if factor.divide and not q.base:
            if reader is not None and node is not None:
                reader.say("bad-number", "the limit divides by nothing", node.start, node.end)
            return None
        value = value / Fraction(q.base) if factor.divide else value * Fraction(q.base)
        if q.kind not in ("number", "ratio"):
            if factor.divide:
                under = q.kind if not under else "?"
            else:
                over = q.kind if not over else "?"
    kind, unit = _QUOTIENTS.get((over, under), ("", ""))
    if not under and over != "?":
        from sitelog.notation.quantities import KINDS

        kind, unit = over or "number", KINDS.get(over, "")
    if over == under and over not in ("", "?"):
        kind, unit = "ratio", ""
    if not kind:
        if reader is not None and node is not None:
            reader.say("unit-kind", "the limit is of no sort of quantity that is known", node.start, node.end)
        return None
    number = (Decimal(value.numerator) / Decimal(value.denominator)).normalize()
    return Quantity(number, unit, kind, number)

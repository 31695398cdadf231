"""A kit's lines: tools with what they measure, and what their calibrations found."""

from __future__ import annotations

import re
from datetime import date

from sitelog.base.frozen import NamedTuple, record
from sitelog.language.kinds.base import Reader, split_value, unquoted
from sitelog.language.syntax.tokens import Node, Token
from sitelog.notation.quantities import Problem, Quantity, kind_problem, read_quantity

# What a tool of that sort shows; of any other sort, whatever its range says.
_SHOWS = {
    "torque-wrench": ("torque",),
    "torque-driver": ("torque",),
    "insulation": ("resistance",),
    "continuity": ("resistance",),
    "voltage": ("voltage",),
    "voltage-tester": ("voltage",),
    "temperature": ("temperature",),
}


class Measure(NamedTuple):
    """One quantity that a tool shows: from `low` to `high`, good to a share of the value plus a fixed part.

    `share` is a fraction (0.04 for 4 %) and `fixed` in the base unit; both None where the kit is silent, or
    where what it says can't be read (`unread`). `digits` is the part of the error that the maker gives in
    steps of the last digit; `step` is that digit in the base unit, None where the kit does not say it.
    """

    name: str
    low: Quantity | None
    high: Quantity | None
    share: float | None
    fixed: float | None
    digits: float = 0.0
    step: float | None = None
    unread: bool = False

    @property
    def kind(self) -> str:
        """The quantity kind of the range; empty where there is none."""
        return self.high.kind if self.high is not None else ""

    @property
    def range_text(self) -> str:
        """`4..20 Nm`."""
        if self.low is None or self.high is None:
            return ""
        return f"{self.low.number:f}..{self.high.number:f} {self.high.unit}"


@record
class Tool:
    """One tool of a kit."""

    name: str
    kind: str
    measures: tuple[Measure, ...]
    serial: str
    click: bool
    indicating: bool  # it only shows about how much: nobody calibrates it, and it says so
    proved_on: str
    kit: str
    file: str
    line: int


class Point(NamedTuple):
    """One found point: what it truly was where it showed `shown`; or an error of indication for all.

    `function` is the function of the tool that it was found for, in small letters; empty where unsaid.
    """

    true: Quantity | None
    shown: Quantity | None
    error: float | None
    function: str = ""


@record
class Calibration:
    """One calibration: what the tool showed as it came (`found`) and as it went out again (`left`).

    `uncertainty` is the expanded one (k = 2) as a share of the value; None where the certificate's is not
    given. `unread` names what stands there and can't be read: `U`, `found`, `left`.
    """

    tool: str
    day: date
    due: date | None
    cert: str
    found: tuple[Point, ...]
    left: tuple[Point, ...]
    uncertainty: float | None
    unread: tuple[str, ...]
    file: str
    line: int


def read_tool(reader: Reader) -> Tool | None:
    """`tool NAME KIND RANGE ACCURACY, … [serial …] [click] [indicating] [proved on …]`."""
    measures = tuple(_measure(reader, node) for node in reader.nodes("measure"))
    proved, serial = reader.node("proved"), reader.node("serial")
    on = proved.child("name") if proved is not None else None
    return Tool(
        reader.name(),
        measures[0].name,
        measures,
        unquoted(serial.tokens()[1].text) if serial is not None else "",
        reader.has("CLICK"),
        reader.has("INDICATING"),
        unquoted(on.tokens()[0].text) if on is not None else "",
        "",
        reader.file,
        reader.entry.number,
    )


def _measure(reader: Reader, node: Node) -> Measure:
    name = node.tokens()[0].text.casefold()
    low = high = None
    if (span := node.child("range")) is not None:
        low, high = _range(reader, span)
    shows = _SHOWS.get(name, ())
    if shows and high is not None and (problem := kind_problem(high, shows)):
        reader.report((problem,), span.start, span.end)  # type: ignore[union-attr]
        low = high = None
    step: float | None = None
    unread = False
    if (resolution := node.child("resolution")) is not None:
        step = _error_in_base(reader, resolution.nodes()[0], high)
        unread = not step
    if (accuracy := node.child("accuracy")) is None:
        return Measure(name, low, high, None, None, 0.0, step, unread)
    share = fixed = digits = 0.0
    for value in accuracy.nodes():
        if (count := _digits(value)) is not None:
            digits += count
        elif split_value(value).unit == "%" and (high is None or high.kind != "ratio"):
            ratio = reader.value(value, ("ratio",))
            share += abs(float(ratio.base)) if ratio is not None else 0.0
            unread |= ratio is None
        else:
            part = _error_in_base(reader, value, high)
            fixed += part or 0.0
            unread |= part is None
    if unread:  # unknown, and never 0
        return Measure(name, low, high, None, None, 0.0, step, True)
    return Measure(name, low, high, share, fixed, digits, step)


def _digits(node: Node) -> float | None:
    """How many digits `5 digits` or `1 digit` says; None where it says something else."""
    found = _DIGITS.fullmatch(" ".join(token.text for token in node.tokens()))
    return float(found[1].replace(",", ".")) if found is not None else None


_DIGITS = re.compile(r"\+?\s*(\d{1,4}(?:[.,]\d{1,3})?)\s*(?:digits?|dgts?|counts?)", re.IGNORECASE)


def _error_in_base(reader: Reader, node: Node, high: Quantity | None) -> float | None:
    """A fixed part of the accuracy, or a last digit, in the base unit; None (and said why) if it is none."""
    quantity = reader.value(node)
    if quantity is None:
        return None
    if high is not None and quantity.kind != high.kind:
        reader.say("unit-kind", "the accuracy is of another sort than the range", node.start, node.end)
        return None
    return abs(_difference(quantity))


def _difference(quantity: Quantity) -> float:
    """A width in the kind's base unit: no offset for degrees."""
    from sitelog.notation.quantities import difference_in_base, find_unit

    unit = find_unit(quantity.unit)
    return 0.0 if isinstance(unit, Problem) else float(difference_in_base(quantity.number, unit))


def _range(reader: Reader, node: Node) -> tuple[Quantity | None, Quantity | None]:
    tokens = node.tokens()
    text = tokens[0].text
    unit = tokens[1].text if len(tokens) > 1 else ""
    low_text, dots, rest = text.partition("..")
    if not unit:
        digits = len(rest) - len(rest.lstrip("0123456789.,+-"))
        rest, unit = rest[:digits], rest[digits:]
    if not dots or not unit:
        reader.say("bad-range", "a range is written 4..20 Nm", node.start, node.end)
        return None, None
    ends: list[Quantity | None] = []
    for number in (low_text, rest):
        quantity, problems = read_quantity(number, unit)
        ends.append(None if reader.report(problems, node.start, node.end) else quantity)
    if ends[0] is not None and ends[1] is not None and ends[0].base > ends[1].base:
        reader.say("bad-range", f"`{text}` runs backwards", node.start, node.end)
        return None, None
    return ends[0], ends[1]


def read_calibrated(reader: Reader) -> Calibration | None:
    """`calibrated NAME DATE [due DATE] [cert WORD] [found …] [left …] [U 0.8 %]`."""
    token = next(part for part in reader.parts if isinstance(part, Token) and part.type == "DATE")
    day = reader.date(token)
    due_node, cert, found, uncertainty = (
        reader.node(name) for name in ("due", "cert", "found", "uncertainty")
    )
    due = reader.date(due_node.tokens()[1]) if due_node is not None else None
    if day is None or (due_node is not None and due is None):
        return None
    if due is not None and due < day:
        reader.say("bad-date", "due before it was calibrated", due_node.start, due_node.end)  # type: ignore[union-attr]
        return None
    u = reader.value(uncertainty.nodes()[0], ("ratio",)) if uncertainty is not None else None
    as_found, as_left = _points(reader, found), _points(reader, reader.node("left"))
    read = {
        "U": uncertainty is None or u is not None,
        "found": None not in as_found,
        "left": None not in as_left,
    }
    name = cert.child("name") if cert is not None else None
    return Calibration(
        reader.name(),
        day,
        due,
        unquoted(name.tokens()[0].text) if name is not None else "",
        tuple(point for point in as_found if point is not None),
        tuple(point for point in as_left if point is not None),
        abs(float(u.base)) if u is not None else None,
        tuple(name for name, is_read in read.items() if not is_read),
        reader.file,
        reader.entry.number,
    )


def _points(reader: Reader, node: Node | None) -> list[Point | None]:
    return [_point(reader, point) for point in node.nodes()] if node is not None else []


def _point(reader: Reader, node: Node) -> Point | None:
    function = " ".join(part.text for part in node.children if isinstance(part, Token)).casefold()
    function = function.removesuffix("at").strip()
    values = [reader.value(value) for value in node.nodes()]
    first = values[0]
    if first is None or None in values:
        return None
    if len(values) == 1:
        if first.kind != "ratio":
            reader.say(
                "unreadable",
                "found what, at what shown?",
                node.start,
                node.end,
                "write: found 11.9 Nm at 12 Nm",
            )
            return None
        return Point(None, None, float(first.base), function)
    shown = values[1]
    assert shown is not None
    if first.kind != shown.kind or not first.base:
        reader.say("unit-kind", "both values of a found point are of one sort", node.start, node.end)
        return None
    return Point(first, shown, None, function)

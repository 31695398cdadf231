"""A kit's lines: tools with what they measure, and what their calibrations found."""

from __future__ import annotations

from datetime import date

from sitelog.base.frozen import NamedTuple, record
from sitelog.language.kinds.base import Reader, unquoted
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

    `share` is a fraction (0.04 for 4 %) and `fixed` in the base unit; both None where the kit is silent.
    """

    name: str
    low: Quantity | None
    high: Quantity | None
    share: float | None
    fixed: float | None

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
    proved_on: str
    kit: str
    file: str
    line: int


class Point(NamedTuple):
    """One found point: what it truly was where it showed `shown`; or an error of indication for all."""

    true: Quantity | None
    shown: Quantity | None
    error: float | None


@record
class Calibration:
    """One calibration. `uncertainty` is the expanded one (k = 2) as a share of the value."""

    tool: str
    day: date
    due: date | None
    cert: str
    found: tuple[Point, ...]
    uncertainty: float
    file: str
    line: int


def read_tool(reader: Reader) -> Tool | None:
    """`tool NAME KIND RANGE ACCURACY, … [serial …] [click] [proved on …]`."""
    measures = tuple(_measure(reader, node) for node in reader.nodes("measure"))
    proved, serial = reader.node("proved"), reader.node("serial")
    on = proved.child("name") if proved is not None else None
    return Tool(
        reader.name(),
        measures[0].name,
        measures,
        unquoted(serial.tokens()[1].text) if serial is not None else "",
        reader.has("CLICK"),
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
    share: float | None = None
    fixed: float | None = None
    if (accuracy := node.child("accuracy")) is not None:
        share = fixed = 0.0
        for value in accuracy.nodes():
            quantity = reader.value(value)
            if quantity is None:
                continue
            if quantity.kind == "ratio" and (high is None or high.kind != "ratio"):
                share += abs(float(quantity.base))
            elif high is not None and quantity.kind != high.kind:
                reader.say(
                    "unit-kind", "the accuracy is of another sort than the range", value.start, value.end
                )
            else:
                fixed += abs(_difference(quantity))
    return Measure(name, low, high, share, fixed)


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
    """`calibrated NAME DATE [due DATE] [cert WORD] [found …] [U 0.8 %]`."""
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
    points = (
        tuple(point for node in found.nodes() if (point := _point(reader, node))) if found is not None else ()
    )
    name = cert.child("name") if cert is not None else None
    return Calibration(
        reader.name(),
        day,
        due,
        unquoted(name.tokens()[0].text) if name is not None else "",
        points,
        float(u.base) if u is not None else 0.0,
        reader.file,
        reader.entry.number,
    )


def _point(reader: Reader, node: Node) -> Point | None:
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
        return Point(None, None, float(first.base))
    shown = values[1]
    assert shown is not None
    if first.kind != shown.kind or not first.base:
        reader.say("unit-kind", "both values of a found point are of one sort", node.start, node.end)
        return None
    return Point(first, shown, None)

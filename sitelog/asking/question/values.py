"""Operands of a condition: fields, written values, and computations on them."""

from datetime import date, timedelta
from decimal import Decimal

from sitelog.asking.question.days import Period, period
from sitelog.asking.question.dimensions import Units, combined, factor, in_words, units_of
from sitelog.asking.question.errors import QuestionError
from sitelog.asking.question.fields import FieldRef, Param, Scope, Sql, field, find_field, kind_of, no_field
from sitelog.asking.question.tree import Chain, Number, Operand, Relative, Word, span
from sitelog.base.frozen import NamedTuple
from sitelog.notation.quantities import Problem, Quantity, difference_in_base, find_unit, read_quantity

_TYPES = {"quantity": "number", "ratio": "number", "flag": "number"}
_SECONDS_A_DAY = 86_400
_UNKNOWN: Units = (("?", 1),)


class Literal(NamedTuple):
    """Something written in the question: what it means depends on what it stands against."""

    text: str
    span: tuple[int, int]
    quantity: Quantity | None = None
    unit_span: tuple[int, int] | None = None
    period: Period | None = None
    quoted: bool = False


class SqlValue(NamedTuple):
    """Something computed in SQL.

    `type` is `text`, `day`, `time` or `number`; `units` the powers of kinds of a number.
    `bound` is SQL for `<`, `>` or an empty text where the value is censored, and `clouded` are such
    SQL pieces of parts that make the whole undecidable. `guards` have to hold for the units to agree.
    """

    sql: str
    params: tuple[Param, ...]
    type: str
    label: str
    span: tuple[int, int]
    units: Units = ()
    bound: str = ""
    clouded: tuple[str, ...] = ()
    guards: tuple[Sql, ...] = ()
    kind: str = ""
    computed: bool = False
    difference: bool = False
    field: FieldRef | None = None


def left_operand(scope: Scope, part: Operand) -> SqlValue | Literal:
    """The operand on the left: words have to be fields (or `today`)."""
    if isinstance(part, Word) and not part.quoted and find_field(scope, part.text) is None:
        if period(part.text, scope.today):
            return literal(scope, part)
        raise no_field(scope, part)
    return right_operand(scope, part)


def right_operand(scope: Scope, part: Operand) -> SqlValue | Literal:
    """The operand on the right: a word that is no field is a name, a day or a value."""
    if isinstance(part, Chain):
        return _chain(scope, part)
    if isinstance(part, Word) and not part.quoted:
        found = find_field(scope, part.text)
        if found is not None:
            return field_value(scope, found, span(part))
    return literal(scope, part)


def field_value(scope: Scope, found: FieldRef, where: tuple[int, int]) -> SqlValue:
    """A field as a value."""
    column = found.column
    value = SqlValue(found.sql(), (), _TYPES.get(column.type, column.type), found.label, where, field=found)
    if column.type != "quantity":
        return value
    kind = kind_of(scope, found)
    return value._replace(
        units=_UNKNOWN if kind == "?" else units_of(kind),
        bound=found.sql("bound") if scope.censored else "",
        kind=found.sql("kind"),
    )


def literal(scope: Scope, part: Operand) -> Literal:
    """A written value, read in every way it can be meant."""
    where = span(part)
    if isinstance(part, Relative):
        return Literal(part.word.text, where, period=_period(scope, part.word))
    if isinstance(part, Number):
        return _number(scope, part)
    assert isinstance(part, Word)
    if part.quoted:
        return Literal(part.text, where, quoted=True)
    return Literal(part.text, where, _glued(part.text), period=period(part.text, scope.today))


def _period(scope: Scope, word: Word) -> Period:
    found = period(word.text, scope.today)
    if found is None:
        raise QuestionError(
            f"`{word.text}` is no day",
            word.column,
            word.end_column,
            "there are last and this week, month, quarter and year",
        )
    return found


def _number(scope: Scope, part: Number) -> Literal:
    unit = part.unit
    quantity, problems = read_quantity(part.number.text, unit.text if unit else "")
    if quantity is None:
        where = unit or part.number
        problem = problems[-1]
        raise QuestionError(problem.message, where.column, where.end_column, problem.help)
    text = f"{part.number.text} {unit.text}" if unit else part.number.text
    day = period(part.number.text, scope.today) if unit is None else None
    return Literal(text, span(part), quantity, span(unit) if unit else None, day)


def _glued(text: str) -> Quantity | None:
    """The quantity where number and unit stand together: `12Nm`, `10%`."""
    digits = len(text) - len(text.lstrip("+-0123456789."))
    if not digits or digits == len(text):
        return None
    number, unit = text[:digits], text[digits:]
    return None if isinstance(find_unit(unit), Problem) else read_quantity(number, unit)[0]


# -- arithmetic -------------------------------------------------------------------------------------


def _chain(scope: Scope, part: Chain) -> SqlValue | Literal:
    total = _term(scope, part.first)
    for op, term in part.rest:
        value = _term(scope, term)
        if isinstance(total, Literal) and total.quantity is None and total.period is None:
            raise _no_sum(total)
        total = _product(total, value, op) if op in "*/" else _sum(scope, total, value, op)
    return total


def _term(scope: Scope, part: Operand) -> SqlValue | Literal:
    if isinstance(part, Word) and not part.quoted:
        written = literal(scope, part)
        if find_field(scope, part.text) is None and written.period is None and written.quantity is None:
            field(scope, part)  # raises with the nearest field
    found = right_operand(scope, part)
    if isinstance(found, SqlValue) and found.type in ("text", "time"):
        raise QuestionError(
            f"`{found.label}` is no number", *found.span, "compute with numbers, quantities and days"
        )
    return found


def _no_sum(written: Literal) -> QuestionError:
    return QuestionError(
        f"`{written.text}` is no number", *written.span, "compute with numbers, quantities and days"
    )


def number_value(written: Literal, *, difference: bool = False) -> SqlValue:
    """A written quantity as a value; as a difference a temperature has no zero (9 degF is 5 degC)."""
    quantity = written.quantity
    if quantity is None:
        raise _no_sum(written)
    base = quantity.base
    if difference:
        unit = find_unit(quantity.unit)
        if not isinstance(unit, Problem):
            base = difference_in_base(quantity.number, unit)
    return SqlValue(
        "?",
        (float(base),),
        "number",
        written.text,
        written.span,
        units_of(quantity.kind),
        difference=difference,
    )


def _sum(scope: Scope, left: SqlValue | Literal, right: SqlValue | Literal, op: str) -> SqlValue | Literal:
    if _is_day(left) or _is_day(right):
        return _days(left, right, op)
    temperature = (("temperature", 1),)
    if isinstance(left, SqlValue) and isinstance(right, Literal):
        right = number_value(right, difference=left.units == temperature)
    elif isinstance(right, Literal):
        right = number_value(right)
    if isinstance(left, Literal):
        left = number_value(left, difference=right.difference)
    difference = left.difference or right.difference
    if left.units == right.units == temperature and not difference:
        if op == "+":
            raise QuestionError(
                "two temperatures cannot be added", *right.span, "subtract one from the other"
            )
        difference = True
    elif left.difference != right.difference and left.units == temperature:
        difference = False  # a temperature plus a difference is a temperature
    right, guards = agreed(left, right)
    total = _computed(left, op, right, f"({left.sql} {op} {right.sql})")
    return total._replace(
        units=left.units, guards=total.guards + guards, kind=left.kind, difference=difference
    )


def _product(left: SqlValue | Literal, right: SqlValue | Literal, op: str) -> SqlValue:
    written = [operand for operand in (left, right) if isinstance(operand, Literal)]
    scales = any(not _kind(operand) for operand in written)
    positive = all(operand.quantity is None or operand.quantity.base > 0 for operand in written)
    first = number_value(left) if isinstance(left, Literal) else left
    second = number_value(right) if isinstance(right, Literal) else right
    for part in (first, second):
        if part.type != "number":
            raise QuestionError(
                f"`{part.label}` is no number", *part.span, "days can only be added and subtracted"
            )
        if ("temperature", 1) in part.units and not part.difference:
            raise QuestionError(
                f"`{part.label}` is a temperature, which has no natural zero here",
                *part.span,
                "only differences of temperatures can be multiplied or divided",
            )
    if op == "/" and isinstance(right, Literal) and right.quantity is not None and not right.quantity.base:
        raise QuestionError("nothing can be divided by 0", *right.span)
    units = combined(first.units, second.units, 1 if op == "*" else -1)
    guards: tuple[Sql, ...] = ()
    if first.units == second.units == _UNKNOWN and op == "/":
        guards = (Sql(f"{first.kind} = {second.kind}"),)
    elif (("?", 1) in first.units + second.units and first.units and second.units) or any(
        kind == "?" and power != 1 for kind, power in units
    ):
        where = first if ("?", 1) in first.units else second
        raise QuestionError(
            f"the kind of `{where.label}` differs from row to row",
            *where.span,
            "ask for readings of one kind",
        )
    text = f"({first.sql} * {second.sql})" if op == "*" else f"({first.sql} * 1.0 / {second.sql})"
    product = _computed(first, op, second, text)
    product = product._replace(
        units=units,
        guards=product.guards + guards,
        kind=first.kind or second.kind,
        difference=first.difference or second.difference,
    )
    # `0.5 * previous` grows with `previous`: a bound stays a bound. Otherwise it clouds the result.
    upright = scales and positive and not (op == "/" and isinstance(left, Literal))
    if not upright:
        return product
    return product._replace(bound=first.bound or second.bound, clouded=first.clouded + second.clouded)


def _computed(left: SqlValue, op: str, right: SqlValue, text: str) -> SqlValue:
    """The value that this SQL computes from two others; a censored one leaves it undecidable."""
    clouds = tuple(filter(None, (left.bound, right.bound)))
    return SqlValue(
        text,
        left.params + right.params,
        "number",
        f"{left.label} {op} {right.label}",
        (left.span[0], right.span[1]),
        clouded=left.clouded + right.clouded + clouds,
        guards=left.guards + right.guards,
        computed=True,
    )


def _kind(written: Literal) -> Units:
    return units_of(written.quantity.kind) if written.quantity else ()


def agreed(left: SqlValue, right: SqlValue) -> tuple[SqlValue, tuple[Sql, ...]]:
    """The right value in the left one's units, and what has to hold for that; raises where it cannot be."""
    if left.units == right.units:
        both = left.units == _UNKNOWN and left.kind != right.kind
        return right, (Sql(f"{left.kind} = {right.kind}"),) if both else ()
    for mine, other in ((left, right), (right, left)):
        if mine.units == _UNKNOWN and len(other.units) < 2 and all(power == 1 for _, power in other.units):
            kind = other.units[0][0] if other.units else "number"
            return right, (Sql(f"{mine.kind} = ?", (kind,)),)
    scale = factor(right.units, left.units)
    if scale is None:
        raise QuestionError(
            f"`{right.label}` is {in_words(right.units)}; `{left.label}` is {in_words(left.units)}",
            *right.span,
            "only like can be compared with like" if left.units else "write the number alone",
        )
    if scale == 1.0:
        return right, ()
    return right._replace(sql=f"({right.sql} * ?)", params=(*right.params, scale), computed=True), ()


# -- days -------------------------------------------------------------------------------------------


def _is_day(part: SqlValue | Literal) -> bool:
    if isinstance(part, SqlValue):
        return part.type == "day"
    return part.period is not None and (
        part.quantity is None or (part.quantity.kind == "number" and len(part.text) == 4)
    )


def day_value(part: SqlValue | Literal) -> SqlValue:
    """A day, or the first day of a written period."""
    if isinstance(part, SqlValue):
        return part
    assert part.period is not None
    return SqlValue("?", (part.period.first.isoformat(),), "day", part.text, part.span)


def _days(left: SqlValue | Literal, right: SqlValue | Literal, op: str) -> SqlValue | Literal:
    if _is_day(left) and _is_day(right) and op == "-":
        first, second = day_value(left), day_value(right)
        text = f"((julianday({first.sql}) - julianday({second.sql})) * {_SECONDS_A_DAY})"
        return _computed(first, op, second, text)._replace(units=units_of("time"), difference=True)
    if (
        not _is_day(left)
        or not isinstance(right, Literal)
        or right.quantity is None
        or right.quantity.kind != "time"
    ):
        raise QuestionError("to a day only a time can be added", *right.span, "write it as `today + 30 days`")
    days = _whole_days(right.quantity.base, right)
    if op == "-":
        days = -days
    if isinstance(left, Literal):
        assert left.period is not None
        moved = Period(*(_moved(day, days, right) for day in left.period))
        return left._replace(text=moved.first.isoformat(), period=moved, quantity=None)
    return SqlValue(
        f"date({left.sql}, ?)", (*left.params, f"{days:+d} days"), "day", left.label, left.span, computed=True
    )


def _moved(day: date, days: int, at: Literal) -> date:
    try:
        return day + timedelta(days=days)
    except OverflowError:
        raise QuestionError("that is beyond the calendar", *at.span) from None


def _whole_days(seconds: Decimal, at: Literal) -> int:
    days = seconds / _SECONDS_A_DAY
    if days != int(days) or abs(days) > 4_000_000:
        raise QuestionError("a day and a time of hours make no day", *at.span, "add whole days")
    return int(days)

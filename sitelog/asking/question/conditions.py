"""Conditions: from the tree of a `where` to SQL that is true, false, or null where it is undecided."""

import re

from sitelog.asking.question.contradictions import turned_round
from sitelog.asking.question.days import FORMS
from sitelog.asking.question.dimensions import in_words
from sitelog.asking.question.errors import QuestionError
from sitelog.asking.question.fields import FieldRef, Param, Scope, Sql, find_field, place_field, stored_kinds
from sitelog.asking.question.matching import any_name, compared, contains
from sitelog.asking.question.tree import (
    AllOf,
    AnyOf,
    Between,
    Compare,
    Condition,
    Has,
    In,
    Is,
    Not,
    Operand,
    Word,
    assert_never,
    span,
)
from sitelog.asking.question.values import (
    Literal,
    SqlValue,
    agreed,
    left_operand,
    literal,
    number_value,
    right_operand,
)

_TURNED = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "=": "=", "!=": "!="}
_TIME = r"([0-9]{1,2}):([0-9]{2})(:[0-9]{2})?"
_FLAGS = {"yes": 1, "true": 1, "no": 0, "false": 0}
_TOLERANCE = "1e-12"  # relative; what binary arithmetic may lose in a product

# The answer where left is certainly greater, and where it is certainly less.
_IF_GREATER = {"<": 0, "<=": 0, ">": 1, ">=": 1, "=": 0, "!=": 1}
_IF_LESS = {"<": 1, "<=": 1, ">": 0, ">=": 0, "=": 0, "!=": 1}


def condition_sql(scope: Scope, condition: Condition) -> Sql:
    """The SQL of a condition; QuestionError where it cannot mean anything."""
    match condition:
        case AllOf(parts):
            return joined(" AND ", [condition_sql(scope, part) for part in parts])
        case AnyOf(parts):
            return joined(" OR ", [condition_sql(scope, part) for part in parts])
        case Not(inner):
            return _negated(condition_sql(scope, inner), True)
        case Compare(left, op, right):
            return compare(scope, left, op, right)
        case Between(value, low, high, negated):
            _check_order(scope, value, low, high)
            both = [compare(scope, value, ">=", low), compare(scope, value, "<=", high)]
            return _negated(joined(" AND ", both), negated)
        case In(value, items, negated):
            return _negated(_is_one_of(scope, value, items), negated)
        case Is(value, pattern, negated):
            test = _is_none(scope, value) if pattern is None else _is_one_of(scope, value, (pattern,))
            return _negated(test, negated)
        case Has(value, part, negated):
            return _negated(_has(scope, value, part), negated)
    assert_never(condition)


def _check_order(scope: Scope, value: Operand, low: Operand, high: Operand) -> None:
    """QuestionError for a `between` whose second end is below the first: nothing lies there."""
    is_turned = turned_round(scope, low, high)
    found = find_field(scope, value.text) if isinstance(value, Word) else None
    if found is not None and found.column.type == "text" and isinstance(low, Word) and isinstance(high, Word):
        from sitelog.asking.store.functions import natural_order  # as the store sorts texts

        is_turned = natural_order(low.text, high.text) > 0
    if is_turned:
        raise QuestionError(
            "the second end is below the first", span(low)[0], span(high)[1], "turn them round"
        )


def joined(word: str, parts: list[Sql]) -> Sql:
    """Conditions joined with AND or OR."""
    if len(parts) == 1:
        return parts[0]
    found = _joined(word, parts)
    if word == " AND " and any(part.sought for part in parts):
        found = found._replace(sought=_joined(word, [part.where for part in parts])[:2])
    return found


def _joined(word: str, parts: list[Sql]) -> Sql:
    text = f"({word.join(part.text for part in parts)})"
    return Sql(text, tuple(param for part in parts for param in part.params))


def _negated(part: Sql, negated: bool) -> Sql:
    return Sql(f"NOT ({part.text})", part.params) if negated else part


def compare(scope: Scope, left_part: Operand, op: str, right_part: Operand) -> Sql:
    """One comparison of operands as written."""
    left, right = left_operand(scope, left_part), right_operand(scope, right_part)
    if (
        isinstance(left, SqlValue)
        and left.type == "text"
        and isinstance(right, SqlValue)
        and right.type != "text"
        and isinstance(right_part, Word)
    ):
        right = literal(scope, right_part)  # `mode = final` means the word, though `final` is a field too
    return compare_values(scope, left, op, right)


def compare_values(scope: Scope, left: SqlValue | Literal, op: str, right: SqlValue | Literal) -> Sql:
    """One comparison; the side that is a field says how a written value is meant."""
    if isinstance(left, Literal):
        if isinstance(right, Literal):
            raise QuestionError("there is no field in this comparison", left.span[0], right.span[1])
        left, op, right = right, _TURNED[op], left
    if isinstance(right, SqlValue) and right.type != left.type:
        raise QuestionError(
            f"`{left.label}` is {_sort(left)}; `{right.label}` is {_sort(right)}",
            *right.span,
            "only like can be compared",
        )
    if left.type == "text":
        return _compare_texts(scope, left, op, right)
    if left.type == "time":
        return _compare_times(left, op, right)
    if left.type == "day":
        return _compare_days(left, op, right)
    return _compare_numbers(scope, left, op, right)


def _sort(value: SqlValue) -> str:
    return {"text": "text", "day": "a day", "time": "a time of day"}.get(value.type, "a number")


def _field(value: SqlValue) -> FieldRef:
    assert value.field is not None  # only fields are texts and times
    return value.field


def _word(written: Literal) -> Word:
    return Word(written.text, *written.span, written.quoted)


def _compare_texts(scope: Scope, left: SqlValue, op: str, right: SqlValue | Literal) -> Sql:
    if isinstance(right, SqlValue):
        collation = "NOCASE" if op in ("=", "!=") else "natural_order"
        return Sql(f"{left.sql} {op} {right.sql} COLLATE {collation}")
    if op in ("=", "!="):
        return _negated(any_name(scope, _field(left), (_word(right),)), op == "!=")
    return compared(_field(left), op, right.text)


def _compare_times(left: SqlValue, op: str, right: SqlValue | Literal) -> Sql:
    if isinstance(right, SqlValue):
        return Sql(f"{left.sql} {op} {right.sql}")
    match = re.fullmatch(_TIME, right.text)
    if match is None:
        raise QuestionError(f"`{right.text}` is no time of day", *right.span, "write it as 08:05")
    return Sql(f"{left.sql} {op} ?", (f"{int(match[1]):02d}:{match[2]}{match[3] or ''}",))


def _compare_days(left: SqlValue, op: str, right: SqlValue | Literal) -> Sql:
    if isinstance(right, SqlValue):
        return Sql(f"{left.sql} {op} {right.sql}", left.params + right.params)
    period = right.period
    if period is None:
        raise QuestionError(f"`{right.text}` is no day", *right.span, f"a day is one of {FORMS}")
    first, last = period.first.isoformat(), period.last.isoformat()
    if op in ("=", "!="):
        return _negated(Sql(f"{left.sql} BETWEEN ? AND ?", (*left.params, first, last)), op == "!=")
    edge = first if op in ("<", ">=") else last  # before a month is before its first day
    return Sql(f"{left.sql} {op} ?", (*left.params, edge))


# -- numbers ----------------------------------------------------------------------------------------


def _compare_numbers(scope: Scope, left: SqlValue, op: str, right: SqlValue | Literal) -> Sql:
    if isinstance(right, Literal):
        right = _as_number(scope, left, right)
    right, guards = agreed(left, right)
    test = _decided(left, op, right)
    guards = left.guards + right.guards + guards
    if not guards:
        return test
    held = joined(" AND ", list(guards))
    text = f"CASE WHEN {held.text} THEN {test.text} END"
    return Sql(text, held.params + test.params, joined(" AND ", [held, test.where])[:2])


def _as_number(scope: Scope, left: SqlValue, written: Literal) -> SqlValue:
    column = left.field.column if left.field else None
    if column is not None and column.type == "flag" and written.text.lower() in _FLAGS:
        return SqlValue("?", (_FLAGS[written.text.lower()],), "number", written.text, written.span)
    quantity = written.quantity
    if quantity is None:
        raise QuestionError(
            f"`{written.text}` is no number; `{left.label}` is {in_words(left.units)}", *written.span
        )
    if quantity.kind == "number" and (left.units and not _takes_numbers(scope, left)):
        raise QuestionError(
            f"`{written.text}` has no unit; `{left.label}` is {in_words(left.units)}",
            *written.span,
            "write the unit",
        )
    if column is not None and column.type == "ratio" and quantity.kind == "number" and abs(quantity.base) > 1:
        raise QuestionError(
            f"`{left.label}` is a share", *written.span, f"write `{written.text} %` if per cent is meant"
        )
    kinds = stored_kinds(scope, left.field) if left.field and left.units else frozenset((quantity.kind,))
    where = written.unit_span or written.span
    if kinds and quantity.kind not in kinds and left.units == (("?", 1),):
        from sitelog.notation.quantities import describe_kind

        raise QuestionError(
            f"`{quantity.unit}` is for {describe_kind(quantity.kind)}; nothing asked for here is one", *where
        )
    value = number_value(written, difference=left.difference)
    if left.units != (("?", 1),):
        return value._replace(label=quantity.unit or written.text, span=where)
    return value


def _takes_numbers(scope: Scope, left: SqlValue) -> bool:
    if left.units != (("?", 1),) or left.field is None:
        return False
    return "number" in stored_kinds(scope, left.field)


def _decided(left: SqlValue, op: str, right: SqlValue) -> Sql:
    """The comparison, null where a censored value leaves it open."""
    exact = _exact(left, op, right)
    clouded = left.clouded + right.clouded
    if clouded:
        open_ = " OR ".join(f"{bound} <> ''" for bound in clouded)
        inner = _bounded(left, op, right, exact)
        return Sql(f"CASE WHEN NOT ({open_}) THEN {inner.text} END", inner.params)
    return _bounded(left, op, right, exact)


def _bounded(left: SqlValue, op: str, right: SqlValue, exact: Sql) -> Sql:
    """`>999` is certainly greater than all up to 999, and nothing else is certain of it."""
    if not left.bound and not right.bound:
        return exact
    mine, other = left.bound or "''", right.bound or "''"
    greater, less = _exact(left, ">=", right), _exact(left, "<=", right)
    up, down = _IF_GREATER[op], _IF_LESS[op]
    text = (
        f"CASE WHEN {mine} = '' AND {other} = '' THEN {exact.text}"
        f" WHEN {mine} IN ('', '>') AND {other} IN ('', '<') THEN CASE WHEN {greater.text} THEN {up} END"
        f" WHEN {mine} IN ('', '<') AND {other} IN ('', '>') THEN CASE WHEN {less.text} THEN {down} END END"
    )
    params = exact.params + greater.params + less.params
    near = {"<": less, "<=": less, ">": greater, ">=": greater, "=": exact}.get(op)  # where it can be true
    return Sql(text, params, (f"({near.text} AND {text})", near.params + params) if near else None)


def _exact(left: SqlValue, op: str, right: SqlValue) -> Sql:
    """The comparison of the numbers: exact for plain ones, within a hair for computed ones."""
    both: tuple[Param, ...] = left.params + right.params
    if not left.computed and not right.computed:
        return Sql(f"{left.sql} {op} {right.sql}", both)
    difference = f"{left.sql} - {right.sql}"
    hair = f"{_TOLERANCE} * max(abs({left.sql}), abs({right.sql}))"
    text = {
        "<": f"{difference} < -{hair}",
        "<=": f"{difference} <= {hair}",
        ">": f"{difference} > {hair}",
        ">=": f"{difference} >= -{hair}",
        "=": f"abs({difference}) <= {hair}",
        "!=": f"abs({difference}) > {hair}",
    }[op]
    return Sql(text, both + both)


# -- is, in, has ------------------------------------------------------------------------------------


def _subject_field(scope: Scope, part: Operand) -> SqlValue:
    value = left_operand(scope, part)
    if isinstance(value, Literal):
        raise QuestionError(f"`{value.text}` is no field", *value.span, "the left side is a field")
    return value


def _is_none(scope: Scope, part: Operand) -> Sql:
    value = _subject_field(scope, part)
    if value.type == "text":
        return Sql(f"coalesce({value.sql}, '') = ''")
    return Sql(f"({value.sql}) IS NULL", value.params)


def _is_one_of(scope: Scope, part: Operand, items: tuple[Operand, ...]) -> Sql:
    value = _subject_field(scope, part)
    if value.type != "text":
        tests = [compare_values(scope, value, "=", right_operand(scope, item)) for item in items]
        return joined(" OR ", tests)
    place = place_field(scope)
    words = [item if isinstance(item, Word) else _spelt(scope, item) for item in items]
    return any_name(scope, _field(value), words, groups=place is not None and place.label == value.label)


def _spelt(scope: Scope, item: Operand) -> Word:
    written = right_operand(scope, item)
    if isinstance(written, Literal):
        return _word(written)
    raise QuestionError("names are wanted here", *span(item))


def _has(scope: Scope, part: Operand, wanted: Operand) -> Sql:
    value = _subject_field(scope, part)
    if value.type != "text":
        raise QuestionError(
            f"`{value.label}` is {_sort(value)}, no text", *value.span, "`has` looks into text"
        )
    written = wanted if isinstance(wanted, Word) else _spelt(scope, wanted)
    return contains(_field(value), written.text)

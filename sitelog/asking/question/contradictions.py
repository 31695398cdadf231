"""Clauses that no row can meet together: `since` behind `until`, `at A at B`, a turned `between`.

The rule: an answer of no rows says that nothing is so. A question that no row could ever meet is therefore an
error. Looked at are the clauses that all have to hold, with what `where` joins to them by `and`; of these the
sizes and days of one field, and the names that one field has to have.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from sitelog.asking.question.days import period
from sitelog.asking.question.errors import QuestionError
from sitelog.asking.question.fields import LISTS, Scope, day_field, find_field, place_field
from sitelog.asking.question.names import RangeError, continued, expand, is_glob
from sitelog.asking.question.tree import (
    AllOf,
    Between,
    Compare,
    Condition,
    In,
    Is,
    Number,
    Operand,
    PlaceClause,
    Question,
    Relative,
    SizeClause,
    StateClause,
    TimeClause,
    WhereClause,
    Word,
    span,
)
from sitelog.asking.question.values import Literal, literal
from sitelog.base.frozen import NamedTuple

PREPOSITIONS = {"at": "site", "of": "sheet", "with": "tool", "by": "by", "for": "visit"}
"""The field that each preposition speaks of; `in` speaks of the place."""


class _Bound(NamedTuple):
    """A limit of one field: at least or at most a value, the value itself excluded where it is strict."""

    field: str
    kind: str  # of the quantity, or `day`
    is_least: bool
    value: Decimal | str  # in the base unit, or a day
    is_strict: bool
    where: tuple[int, int]


class _OneOf(NamedTuple):
    """The names of which a field has to have one."""

    field: str
    names: frozenset[str]
    where: tuple[int, int]


def refuse_contradictions(scope: Scope, question: Question) -> None:
    """Raises `QuestionError` at the second of two clauses that no row can meet together."""
    bounds: list[_Bound] = []
    for bound in _bounds(scope, question):
        for earlier in bounds:
            if _excludes(earlier, bound):
                raise _contradiction(question, bound.field, earlier.where, bound.where)
        bounds.append(bound)
    named: list[_OneOf] = []
    for names in _names(scope, question):
        for other in named:
            if other.field == names.field and _disjoint(scope, other, names):
                raise _contradiction(question, names.field, other.where, names.where)
        named.append(names)


def turned_round(scope: Scope, low: Operand, high: Operand) -> bool:
    """Whether the second end of a `between` is certainly below the first."""
    if isinstance(low, Number | Word | Relative) and isinstance(high, Number | Word | Relative):
        if _is_field(scope, low) or _is_field(scope, high):
            return False
        first, last = literal(scope, low), literal(scope, high)
        if first.period is not None and last.period is not None:
            return last.period.last < first.period.first
        if first.quantity is not None and last.quantity is not None:
            return first.quantity.kind == last.quantity.kind and last.quantity.base < first.quantity.base
    return False


def _is_field(scope: Scope, part: Operand) -> bool:
    return isinstance(part, Word) and not part.quoted and find_field(scope, part.text) is not None


def _excludes(one: _Bound, other: _Bound) -> bool:
    """Whether nothing lies between two bounds."""
    if one.where == other.where:  # a `between` turned round, which has a message of its own
        return False
    if one.field != other.field:
        return False
    if one.kind != other.kind:  # no value is a voltage and a resistance
        return True
    if one.is_least == other.is_least:
        return False
    least, most = (one, other) if one.is_least else (other, one)
    if isinstance(least.value, str) or isinstance(most.value, str):
        low, high = str(least.value), str(most.value)
        return low > high or (low == high and (least.is_strict or most.is_strict))
    return least.value > most.value or (least.value == most.value and (least.is_strict or most.is_strict))


def _contradiction(
    question: Question, field: str, first: tuple[int, int], second: tuple[int, int]
) -> QuestionError:
    earlier = question.text[first[0] - 1 : first[1] - 1]
    later = question.text[second[0] - 1 : second[1] - 1]
    return QuestionError(
        f"no `{field}` can meet both `{earlier}` and `{later}`",
        *second,
        "a question that nothing can meet has no answer; several names are joined by commas"
        if PREPOSITIONS.get(earlier.split()[0].lower()) or earlier.lower().startswith("in ")
        else "a question that nothing can meet has no answer: mend one of them",
    )


# ---- bounds ---------------------------------------------------------------------------------------


def _bounds(scope: Scope, question: Question) -> Iterator[_Bound]:
    day = day_field(scope)
    states = [state for part in question.selections if isinstance(part, StateClause) for state in part.any_of]
    if any(state.name == "due" for state in states):  # a date beside it is the due date
        day = find_field(scope, "due")
    for clause in question.selections:
        if isinstance(clause, TimeClause) and clause.moment is not None and day is not None:
            yield from _moments(scope, day.label, clause)
        elif isinstance(clause, SizeClause):
            where = clause.word.column, span(clause.bounds[-1])[1]
            ops = {"below": "<", "above": ">"}
            if clause.kind in ops:
                yield from _compared(scope, "value", ops[clause.kind], clause.bounds[0], where)
            elif field := _between_field(scope, clause, day.label if day is not None else ""):
                yield from _compared(scope, field, ">=", clause.bounds[0], where)
                yield from _compared(scope, field, "<=", clause.bounds[1], where)
        elif isinstance(clause, WhereClause):
            for condition in leaves(clause.condition):
                yield from _of_condition(scope, condition)


def _between_field(scope: Scope, clause: SizeClause, day: str) -> str:
    first = literal(scope, clause.bounds[0])
    return day if first.period is not None else "value"


def _moments(scope: Scope, field: str, clause: TimeClause) -> Iterator[_Bound]:
    if clause.kind not in ("on", "since", "until", "before"):
        return
    moment = clause.moment
    word = moment.word if isinstance(moment, Relative) else moment
    said = period(word.text, scope.today) if word is not None else None
    if said is None or word is None:
        return
    where = clause.word.column, word.end_column
    if clause.kind in ("on", "since"):
        yield _Bound(field, "day", True, said.first.isoformat(), False, where)
    if clause.kind in ("on", "until"):
        yield _Bound(field, "day", False, said.last.isoformat(), False, where)
    if clause.kind == "before":
        yield _Bound(field, "day", False, said.first.isoformat(), True, where)


def leaves(condition: Condition) -> Iterator[Condition]:
    """The conditions that all have to hold."""
    if isinstance(condition, AllOf):
        for part in condition.parts:
            yield from leaves(part)
    else:
        yield condition


def _of_condition(scope: Scope, condition: Condition) -> Iterator[_Bound]:
    if isinstance(condition, Compare):
        left, op, right = condition.left, condition.op, condition.right
        if isinstance(left, Word) and _is_field(scope, left):
            yield from _compared(scope, left.text.lower(), op, right, (left.column, span(right)[1]))
    elif isinstance(condition, Between) and not condition.negated:
        value = condition.value
        if isinstance(value, Word) and _is_field(scope, value):
            where = value.column, span(condition.high)[1]
            yield from _compared(scope, value.text.lower(), ">=", condition.low, where)
            yield from _compared(scope, value.text.lower(), "<=", condition.high, where)


def _compared(scope: Scope, field: str, op: str, bound: Operand, where: tuple[int, int]) -> Iterator[_Bound]:
    found = find_field(scope, field)
    if found is None or not isinstance(bound, Number | Word | Relative) or _is_field(scope, bound):
        return
    written = literal(scope, bound)
    if found.column.type == "day" and written.period is not None:
        yield from _day_bounds(field, op, written, where)
    elif found.column.type in ("quantity", "ratio", "number") and written.quantity is not None:
        quantity = written.quantity
        kind = "number" if quantity.kind == "ratio" else quantity.kind  # a share is a number too
        if op in (">", ">=", "="):
            yield _Bound(field, kind, True, quantity.base, op == ">", where)
        if op in ("<", "<=", "="):
            yield _Bound(field, kind, False, quantity.base, op == "<", where)


def _day_bounds(field: str, op: str, written: Literal, where: tuple[int, int]) -> Iterator[_Bound]:
    assert written.period is not None
    first, last = written.period.first.isoformat(), written.period.last.isoformat()
    if op in (">", ">=", "="):
        yield _Bound(field, "day", True, last if op == ">" else first, op == ">", where)
    if op in ("<", "<=", "="):
        yield _Bound(field, "day", False, first if op == "<" else last, op == "<", where)


# ---- names ----------------------------------------------------------------------------------------


def _names(scope: Scope, question: Question) -> Iterator[_OneOf]:
    for clause in question.selections:
        if isinstance(clause, PlaceClause):
            preposition = clause.preposition.text.lower()
            found = (
                place_field(scope) if preposition == "in" else find_field(scope, PREPOSITIONS[preposition])
            )
            where = clause.preposition.column, clause.names[-1].end_column
            if found is not None:
                yield from _named(scope, found.label, clause.names, where)
        elif isinstance(clause, WhereClause):
            for condition in leaves(clause.condition):
                yield from _names_of(scope, condition)


def _names_of(scope: Scope, condition: Condition) -> Iterator[_OneOf]:
    items: tuple[Operand, ...]
    if isinstance(condition, Compare) and condition.op == "=":
        left, items = condition.left, (condition.right,)
    elif isinstance(condition, In) and not condition.negated:
        left, items = condition.value, condition.items
    elif isinstance(condition, Is) and not condition.negated and condition.pattern is not None:
        left, items = condition.value, (condition.pattern,)
    else:
        return
    words = [item for item in items if isinstance(item, Word) and not _is_field(scope, item)]
    found = find_field(scope, left.text) if isinstance(left, Word) else None
    if found is not None and found.column.type == "text" and len(words) == len(items):
        yield from _named(scope, found.label, words, (span(left)[0], span(items[-1])[1]))


def _named(scope: Scope, label: str, words: Sequence[Word], where: tuple[int, int]) -> Iterator[_OneOf]:
    if (scope.subject.name, label) in LISTS:
        return
    names: list[str] = []
    previous = ""
    for word in words:
        text = word.text if word.quoted else continued(word.text, previous)
        previous = text
        if is_glob(text) and not word.quoted:
            return
        try:
            names += [text] if word.quoted else expand(text)
        except RangeError:
            return
    yield _OneOf(label, frozenset(name.casefold() for name in names), where)


def _disjoint(scope: Scope, one: _OneOf, other: _OneOf) -> bool:
    """Whether no name is among both; a group such as `bracket` holds all that begins with it."""
    place = place_field(scope)
    if place is not None and place.label == one.field and scope.known.names("same"):
        return False  # two names may be those of one place
    if place is None or place.label != one.field:
        return one.names.isdisjoint(other.names)
    return not any(
        name == another
        or name.startswith((f"{another}-", f"{another}/"))
        or another.startswith((f"{name}-", f"{name}/"))
        for name in one.names
        for another in other.names
    )

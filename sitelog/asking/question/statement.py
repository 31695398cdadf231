"""What every statement is made of: its columns, the conditions on its rows, its order and its limit."""

from __future__ import annotations

from sitelog.asking.question.conditions import joined
from sitelog.asking.question.counting import counting_rules, has_negation
from sitelog.asking.question.errors import QuestionError
from sitelog.asking.question.fields import FieldRef, Param, Scope, Sql, find_field, stored_kinds
from sitelog.asking.question.matching import any_name
from sitelog.asking.question.selecting import selection_sql
from sitelog.asking.question.tree import Question, StateClause, Word
from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import NOT_APPLICABLE, VERDICTS

QUANTITY_PARTS = ("", "number", "unit", "bound", "kind")
_WORST_FIRST = f"|{'|'.join((*VERDICTS, NOT_APPLICABLE))}|"
_MOST_ROWS = 10**9


class Output(NamedTuple):
    """One column of an answer. A `quantity` takes as many places in a stored row as QUANTITY_PARTS."""

    name: str
    type: str
    meaning: str
    unit: str = ""
    aside: bool = False  # not asked for, and not what people read first: a program gets it, a table does not


class Note(NamedTuple):
    """How to count the rows that an answer leaves out for a reason, and the reason in words."""

    counted: Sql
    reason: str


class Query(NamedTuple):
    """A statement with its parameters, what its columns are, and how to count what stayed undecided.

    With `lines` each row begins with the file, the line and the text of the entry. Each of `notes` counts
    rows that are not in the answer, and says why. `sorts` gives how many sorts, and two of them,
    where a measure would be taken over values of several.
    """

    sql: str
    params: tuple[Param, ...]
    columns: tuple[Output, ...]
    lines: bool
    undecided: Sql | None
    notes: tuple[Note, ...] = ()
    sorts: Sql | None = None


def conditions_sql(
    scope: Scope, question: Question, *, states: bool = True, counting: bool = True
) -> Sql | None:
    """All conditions on the rows of a question; without its states where `states` is False.

    Without `counting`, what does not count for its measure is among the rows too.
    """
    parts: list[Sql] = []
    if question.what is not None:
        what = find_field(scope, "what")
        assert what is not None  # a request for another subject is none
        parts.append(any_name(scope, what, (question.what,)))
    chosen = tuple(clause for clause in question.selections if states or not isinstance(clause, StateClause))
    parts += selection_sql(scope, chosen)
    if counting:
        parts += [rule.test for rule in counting_rules(scope, question)]
    return joined(" AND ", parts) if parts else None


def undecided_sql(scope: Scope, question: Question, more: Sql | None = None) -> Sql | None:
    """Counts the rows that a censored value keeps out: null with its bound, true or false without it."""
    test, plain = conditions_sql(scope, question), conditions_sql(scope._replace(censored=False), question)
    counts: list[Sql] = []
    if test is not None and plain is not None and test != plain:
        counts.append(
            Sql(f"({test.text}) IS NULL AND ({plain.text}) IS NOT NULL", test.params + plain.params)
        )
    if more:
        counts.append(joined(" AND ", [more, test]) if test else more)
    if not counts:
        return None
    table = f'FROM "{scope.subject.stored}" AS r'
    sums = " + ".join(f"(SELECT count(*) {table} WHERE {condition.text})" for condition in counts)
    return Sql(f"SELECT {sums}", tuple(param for condition in counts for param in condition.params))


def notes_of(scope: Scope, question: Question, value: Sql | None = None) -> tuple[Note, ...]:
    """What the answer leaves out: what does not count, or has no value beside a `not`.

    With `value`, a condition, only rows that meet it are counted as left out of the measure.
    """
    table = f'FROM "{scope.subject.stored}" AS r'
    found: list[Note] = []
    rules = counting_rules(scope, question)
    if rules:
        chosen = conditions_sql(scope, question, states=not _is_share(question), counting=False)
        counts = joined(" AND ", [rule.test for rule in rules])
        tests = [*filter(None, (chosen, value)), Sql(f"NOT {counts.text}", counts.params)]
        where = joined(" AND ", tests)
        words = [rule.reason for rule in rules]
        reason = " or ".join(filter(None, (", ".join(words[:-1]), words[-1])))
        found.append(Note(Sql(f"SELECT count(*) {table} WHERE {where.text}", where.params), reason))
    if has_negation(question):
        test, plain = (
            conditions_sql(scope, question),
            conditions_sql(scope._replace(censored=False), question),
        )
        assert test is not None
        assert plain is not None
        text = f"SELECT count(*) {table} WHERE ({test.text}) IS NULL AND ({plain.text}) IS NULL"
        found.append(Note(Sql(text, test.params + plain.params), "no value to compare"))
    return tuple(found)


def _is_share(question: Question) -> bool:
    return question.measure is not None and question.measure.name == "share"


def selected_parts(found: FieldRef) -> list[str]:
    """What to select for a field."""
    if found.column.type == "quantity":
        return [found.sql(part) for part in QUANTITY_PARTS]
    return [found.sql()]


def limit_sql(question: Question) -> Sql:
    """The LIMIT of `first 5`."""
    word = question.first
    if word is None:
        return Sql("")
    if not word.text.isdigit() or not 0 < int(word.text[:20]) < _MOST_ROWS:
        raise QuestionError(
            f"`{word.text}` is no number of rows", word.column, word.end_column, "write `first 5`"
        )
    return Sql(" LIMIT ?", (int(word.text),))


def order_sql(found: FieldRef, down: bool) -> str:
    """Text in natural order, verdicts from the worst; what is absent comes last either way."""
    sql, text = found.sql(), found.sql()
    if found.column.name == "verdict":
        text = f"instr('{_WORST_FIRST}', '|' || {sql} || '|')"
    elif found.column.type == "text":
        text = f"{sql} COLLATE natural_order"
    return f"{sql} IS NULL, {text}{' DESC' if down else ''}"


def unit_spelling(scope: Scope, found: FieldRef, word: Word) -> str:
    """The spelling of the unit that `show FIELD in UNIT` names; QuestionError where it has no such unit."""
    from sitelog.notation.quantities import KINDS, Problem, describe_kind, find_unit

    unit = find_unit(word.text)
    if isinstance(unit, Problem):
        raise QuestionError(unit.message, word.column, word.end_column, unit.help)
    if found.column.type != "quantity":
        raise QuestionError(f"`{found.label}` has no unit", word.column, word.end_column)
    kinds = stored_kinds(scope, found)
    have = " or ".join(map(describe_kind, sorted(kinds)))
    if (kinds and unit.kind not in kinds) or unit.kind not in KINDS:
        raise QuestionError(
            f"`{found.label}` is {have}, not {describe_kind(unit.kind)}",
            word.column,
            word.end_column,
        )
    return unit.normal

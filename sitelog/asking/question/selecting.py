"""The selections of a question: states, names, days and sizes as conditions on its rows."""

from datetime import date

from sitelog.asking.question.conditions import compare_values, condition_sql, joined
from sitelog.asking.question.contradictions import PREPOSITIONS, turned_round
from sitelog.asking.question.days import FORMS, Period, before, period
from sitelog.asking.question.errors import QuestionError, listed, nearest
from sitelog.asking.question.fields import (
    MOST_OWNERS,
    PLACES,
    FieldRef,
    Scope,
    Sql,
    day_field,
    field_names,
    find_field,
    place_field,
)
from sitelog.asking.question.matching import any_name, is_known
from sitelog.asking.question.states import any_state, check_state, state_sql
from sitelog.asking.question.tree import (
    NamedState,
    Number,
    PlaceClause,
    Question,
    Relative,
    Selection,
    SizeClause,
    StateClause,
    TimeClause,
    WhereClause,
    Word,
    assert_never,
    span,
)
from sitelog.asking.question.values import SqlValue, field_value, literal
from sitelog.asking.subjects import Subject


def selection_sql(scope: Scope, selections: tuple[Selection, ...]) -> list[Sql]:
    """One condition for each selection; they all have to hold."""
    dates = _due_dates(scope, selections)
    found: list[Sql] = []
    for clause in selections:
        match clause:
            case StateClause(any_of):
                found.append(_states(scope, any_of, dates))
            case PlaceClause():
                found.append(_place(scope, clause))
            case TimeClause():
                if clause not in dates and clause.kind != "as-of":  # whoever gave the rows has seen to that
                    found.append(_time(scope, clause))
            case SizeClause():
                if clause not in dates:
                    found.append(_size(scope, clause))
            case WhereClause(_, condition):
                found.append(condition_sql(scope, condition))
            case _:
                assert_never(clause)
    return found


_DateClause = TimeClause | SizeClause


def _due_dates(scope: Scope, selections: tuple[Selection, ...]) -> tuple[_DateClause, ...]:
    """The clauses on days that speak of the due date, as they stand beside the state `due`; else none."""
    states = [state for clause in selections if isinstance(clause, StateClause) for state in clause.any_of]
    if not any(state.name == "due" and not state.negated for state in states):
        return ()
    return tuple(
        clause
        for clause in selections
        if (isinstance(clause, TimeClause) and clause.kind not in ("as-of", "since-signed"))
        or (isinstance(clause, SizeClause) and clause.kind == "between" and _speaks_of_days(scope, clause))
    )


def _states(scope: Scope, any_of: tuple[NamedState, ...], dates: tuple[_DateClause, ...]) -> Sql:
    if any(state.negated or (dates and state.name == "due") for state in any_of):
        return joined(" OR ", [_state(scope, state, dates) for state in any_of])
    for state in any_of:
        check_state(scope.subject, state)
    return any_state([state.name for state in any_of], scope.known.states(scope.subject.stored))


def _state(scope: Scope, state: NamedState, dates: tuple[_DateClause, ...]) -> Sql:
    check_state(scope.subject, state)
    is_dated = dates and state.name == "due" and not state.negated
    test = joined(" AND ", [_due(scope, clause) for clause in dates]) if is_dated else state_sql(state.name)
    return Sql(f"NOT ({test.text})", test.params) if state.negated else test


def _due(scope: Scope, clause: _DateClause) -> Sql:
    """A clause on days as one on the due date: `due between D and D`, `due before D`.

    `due within 30 days` looks ahead; what is past due is on the list too, as leaving it off would mislead.
    """
    due = find_field(scope, "due")
    if due is None:
        raise QuestionError(
            f"{scope.subject.name} have no field `due` to look ahead by",
            clause.word.column,
            clause.word.end_column,
            "`tools due within 30 days` is one that can be asked",
        )
    if isinstance(clause, SizeClause):
        test = _between_days(scope, clause, due)
    elif clause.kind == "within":
        test = Sql(f"{due.sql()} <= ?", (_distance(scope, clause, -1).isoformat(),))
    else:
        test = _on_days(scope, clause, due)
    return Sql(f"coalesce({test.text}, 0)", test.params)


def _place(scope: Scope, clause: PlaceClause) -> Sql:
    word = clause.preposition
    preposition = word.text.lower()
    groups = preposition == "in"
    found = place_field(scope) if groups else find_field(scope, PREPOSITIONS[preposition])
    other = find_field(scope, "of") if preposition == "of" else None
    if other is not None and not (found and any(is_known(scope, found, name) for name in clause.names)):
        found = other  # `photos of board-labels`
    if found is None:
        raise QuestionError(
            f"{scope.subject.name} have nothing that `{preposition}` could speak of",
            word.column,
            word.end_column,
            _what_works(scope, preposition),
        )
    return any_name(scope, found, clause.names, groups=groups)


def _what_works(scope: Scope, preposition: str) -> str:
    """Which prepositions the subject takes, and which subjects take the one that it does not."""
    takers = [name for name, subject in scope.subjects.items() if preposition in _prepositions(subject)]
    own = listed(_prepositions(scope.subject))
    return f"{scope.subject.name} take {own}; `{preposition}` is for {listed(takers, MOST_OWNERS)}"


def _prepositions(subject: Subject) -> list[str]:
    """The prepositions that speak of a field of the subject."""
    names = {column.name for column in subject.all_columns}
    found = [preposition for preposition, name in PREPOSITIONS.items() if name in names]
    found += ["of"] if "of" in names and "of" not in found else []
    return found + (["in"] if names.intersection(PLACES) else [])


def _days(scope: Scope, word: Word) -> FieldRef:
    found = day_field(scope)
    if found is None:
        raise QuestionError(
            f"{scope.subject.name} have no day",
            word.column,
            word.end_column,
            f"its fields are {listed(field_names(scope.subject), 40)}",
        )
    return found


def _time(scope: Scope, clause: TimeClause) -> Sql:
    if clause.kind == "since-signed":
        check_state(scope.subject, NamedState("unsigned", clause.word, negated=False))
        return state_sql("unsigned")
    return _on_days(scope, clause, _days(scope, clause.word))


def _on_days(scope: Scope, clause: TimeClause, found: FieldRef) -> Sql:
    """The clause as a condition on a field of days."""
    column = found.sql()
    if clause.kind == "within":
        first = _distance(scope, clause, 1).isoformat()
        return Sql(f"{column} BETWEEN ? AND ?", (first, scope.today.isoformat()))
    if clause.kind == "older":
        return Sql(f"{column} < ?", (_distance(scope, clause, 1).isoformat(),))
    assert clause.moment is not None
    said = moment(clause.moment, scope.today)
    if clause.kind == "since":
        return Sql(f"{column} >= ?", (said.first.isoformat(),))
    if clause.kind == "before":
        return Sql(f"{column} < ?", (said.first.isoformat(),))
    if clause.kind == "until":
        return Sql(f"{column} <= ?", (said.last.isoformat(),))
    return Sql(f"{column} BETWEEN ? AND ?", (said.first.isoformat(), said.last.isoformat()))


def as_of(question: Question, today: date) -> date | None:
    """The day that `as of` names (of a month its last); None where the question asks how things are now."""
    clauses = [
        clause for clause in question.selections if isinstance(clause, TimeClause) and clause.kind == "as-of"
    ]
    if len(clauses) > 1:
        word = clauses[1].word
        raise QuestionError(
            "`as of` is said twice", word.column, word.end_column, "things stood as they did on one day"
        )
    return moment(clauses[0].moment, today).last if clauses and clauses[0].moment is not None else None


def moment(said: Word | Relative | Number, today: date) -> Period:
    """The days that a word of the question means; QuestionError where it is none."""
    word = said.word if isinstance(said, Relative) else said
    if isinstance(word, Number):
        word = word.number
    found = period(word.text, today)
    if found is None:
        raise QuestionError(
            f"`{word.text}` is no day", word.column, word.end_column, f"a day is one of {FORMS}"
        )
    return found


def _distance(scope: Scope, clause: TimeClause, sign: int) -> date:
    """The day so far before today (sign 1) or after it (sign -1)."""
    assert clause.number is not None
    assert clause.unit is not None
    number, unit = clause.number, clause.unit
    if not number.text.isdigit() or len(number.text) > 6:
        raise QuestionError(
            f"`{number.text}` is no count of days", number.column, number.end_column, "write `14 days`"
        )
    found = before(scope.today, sign * int(number.text), unit.text)
    if found is None:
        raise QuestionError(
            f"`{number.text} {unit.text}` is no stretch of days",
            number.column,
            unit.end_column,
            "it is told in days, weeks, months or years",
        )
    return found


def _size(scope: Scope, clause: SizeClause) -> Sql:
    if clause.kind == "between" and _speaks_of_days(scope, clause):
        return _between_days(scope, clause, _days(scope, clause.word))
    value = _value(scope, clause)
    word = clause.bounds[0]
    if clause.kind == "between" and turned_round(scope, *clause.bounds):
        raise QuestionError(
            "the second size is less than the first",
            span(word)[0],
            span(clause.bounds[1])[1],
            "turn them round",
        )
    if isinstance(word, Word) and nearest(word.text, ("torque",)):
        raise QuestionError(
            f"`{word.text}` is no size", word.column, word.end_column, "did you mean `torque`?"
        )
    ops = {"below": ("<",), "above": (">",), "between": (">=", "<=")}[clause.kind]
    tests = [
        compare_values(scope, value, op, literal(scope, bound))
        for op, bound in zip(ops, clause.bounds, strict=True)
    ]
    return joined(" AND ", tests)


def _between_days(scope: Scope, clause: SizeClause, found: FieldRef) -> Sql:
    first, last = (moment(bound, scope.today) for bound in clause.bounds)
    if last.last < first.first:
        raise QuestionError(
            "the second day is before the first",
            clause.word.column,
            clause.word.end_column,
            "turn them round",
        )
    return Sql(f"{found.sql()} BETWEEN ? AND ?", (first.first.isoformat(), last.last.isoformat()))


def _speaks_of_days(scope: Scope, clause: SizeClause) -> bool:
    first = clause.bounds[0]
    if isinstance(first, Number):
        return first.unit is None and period(first.number.text, scope.today) is not None
    return isinstance(first, Relative) or literal(scope, first).quantity is None


def _value(scope: Scope, clause: SizeClause) -> SqlValue:
    """The field that `below` and `above` speak of: `value`, if it is a quantity."""
    found = find_field(scope, "value")
    word = clause.word
    if found is None or found.column.type != "quantity":
        raise QuestionError(
            f"{scope.subject.name} have no one size that `{word.text}` could speak of",
            word.column,
            word.end_column,
            "say which field is meant: `where depth < 60 mm`",
        )
    return field_value(scope, found, (word.column, word.end_column))

"""Counts, shares, sums and other measures of the rows of a question, for all of them or per field."""

from sitelog.asking.question.conditions import joined
from sitelog.asking.question.dimensions import units_of
from sitelog.asking.question.errors import QuestionError, did_you_mean, listed
from sitelog.asking.question.fields import FieldRef, Scope, Sql, field, find_field, kind_of
from sitelog.asking.question.selecting import selection_sql
from sitelog.asking.question.statement import (
    QUANTITY_PARTS,
    Output,
    Query,
    conditions_sql,
    limit_sql,
    notes_of,
    order_sql,
    selected_parts,
    undecided_sql,
    unit_spelling,
)
from sitelog.asking.question.tree import Aggregate, OrderBy, Question, StateClause, Word
from sitelog.base.frozen import NamedTuple

_FUNCTIONS = {"sum": "sum", "least": "min", "greatest": "max", "mean": "avg", "median": "median"}
_OF_DAYS = {"oldest": "min", "newest": "max"}


class _Aggregated(NamedTuple):
    """The measured column: what is selected for it, what groups it, which rows are left out or have none."""

    output: Output
    selected: list[Sql]
    groups: list[str]
    left_out: Sql | None = None
    has: Sql | None = None


def grouped(scope: Scope, question: Question, measure: Aggregate) -> Query:
    """The query for a measure of the rows; QuestionError where they have none."""
    per = [field(scope, word) for word in question.per]
    result = _measured(scope, question, measure)
    columns = [Output(found.label, found.column.type, found.column.meaning) for found in per]
    selected = [Sql(place) for found in per for place in selected_parts(found)] + result.selected
    outputs = [*columns, result.output]
    if measure.name == "share":
        outputs.append(Output("count", "number", "rows that the share is of"))
        selected.append(Sql("count(*)"))
    outputs = _with_units(scope, question, outputs, measure)
    where = conditions_sql(scope, question, states=measure.name != "share")
    if result.has:
        parts = [where, result.has] if where else [result.has]
        where = joined(" AND ", parts)
    limit = limit_sql(question)
    groups = [found.sql() for found in per] + [
        found.sql(part) for found in per if found.column.type == "quantity" for part in ("kind", "bound")
    ]
    groups += result.groups
    # Without `per` and without rows there is nothing to report but a count of none.
    having = "" if groups or measure.name == "count" else " HAVING count(*) > 0"
    orders = [_sorted_by(order, per, outputs) for order in question.sort]
    orders += [order_sql(found, False) for found in per]
    sql = (
        f'SELECT {", ".join(part.text for part in selected)} FROM "{scope.subject.stored}" AS r'
        f"{' WHERE ' + where.where.text if where else ''}"
        f"{' GROUP BY ' + ', '.join(groups) if groups else ''}{having}"
        f"{' ORDER BY ' + ', '.join(orders) if orders else ''}{limit.text}"
    )
    params = (
        tuple(param for part in selected for param in part.params)
        + (where.where.params if where else ())
        + limit.params
    )
    undecided, notes = undecided_sql(scope, question, result.left_out), notes_of(scope, question, result.has)
    sorts = _sorts(scope, measure, per, where)
    return Query(sql, params, tuple(outputs), False, undecided, notes, sorts)


# Of values of several sorts none of these means anything; a least and a greatest are values as written.
_OF_ONE_SORT = frozenset(("sum", "mean", "median", "spread"))


def _sorts(scope: Scope, measure: Aggregate, per: list[FieldRef], where: Sql | None) -> Sql | None:
    """What gives the number of sorts, and two of them, of a group with several; None where that is right."""
    found = find_field(scope, measure.field.text) if measure.field is not None else None
    what = find_field(scope, "what")
    if measure.name not in _OF_ONE_SORT or found is None or found.column.type != "quantity" or what is None:
        return None
    sort = f"lower({what.sql()})"
    groups = f" GROUP BY {', '.join(part.sql() for part in per)}" if per else ""
    text = (
        f'SELECT count(DISTINCT {sort}), min({sort}), max({sort}) FROM "{scope.subject.stored}" AS r'
        f"{' WHERE ' + where.where.text if where else ''}{groups} HAVING count(DISTINCT {sort}) > 1 LIMIT 1"
    )
    return Sql(text, where.where.params if where else ())


def _measured(scope: Scope, question: Question, measure: Aggregate) -> _Aggregated:
    if measure.name == "count":
        return _Aggregated(Output("count", "number", "how many rows"), [Sql("count(*)")], [])
    if measure.name == "share":
        return _share(scope, question, measure)
    assert measure.field is not None
    found = field(scope, measure.field)
    meaning = f"{measure.name} of: {found.column.meaning}"
    of_days, is_day = measure.name in _OF_DAYS, found.column.type == "day"
    if is_day and of_days:
        return _Aggregated(
            Output(found.label, "day", meaning), [Sql(f"{_OF_DAYS[measure.name]}({found.sql()})")], []
        )
    if of_days or found.column.type in ("text", "day", "time"):
        raise QuestionError(
            f"`{found.label}` is no {'day' if of_days else 'number'}",
            measure.field.column,
            measure.field.end_column,
            "`least` and `greatest` are for numbers"
            if of_days
            else "`oldest` and `newest` are for days"
            if is_day
            else "`count` counts rows",
        )
    if found.column.type != "quantity":
        kind = "ratio" if found.column.type == "ratio" else "number"
        return _Aggregated(
            Output(found.label, kind, meaning), [Sql(_function(measure.name, found.sql()))], []
        )
    return _quantity_measure(scope, question, measure, found, meaning)


def _quantity_measure(
    scope: Scope, question: Question, measure: Aggregate, found: FieldRef, meaning: str
) -> _Aggregated:
    """In the unit that the values were written in, mostly; kinds are never mixed."""
    kind = kind_of(scope, found)
    if measure.name == "sum" and units_of(kind) == (("temperature", 1),):
        assert measure.field is not None
        raise QuestionError(
            "temperatures have no sum", measure.field.column, measure.field.end_column, "`mean` has one"
        )
    if measure.name in _EXTREMES:
        return _extreme(scope, question, measure, found, meaning)
    sure = f"CASE WHEN {found.sql('bound')} = '' THEN {found.sql()} END"
    unit = found.sql("unit")
    spread = "1" if measure.name == "spread" else "''"
    selected = [
        Sql(_function(measure.name, sure)),
        Sql("NULL"),
        Sql(f"usual({unit})"),
        Sql(spread),  # in the place of the bound: a spread is a difference
        Sql(f"max({found.sql('kind')})"),
    ]
    left_out = Sql(f"{found.sql('bound')} <> ''")
    return _Aggregated(
        Output(found.label, "measure", meaning),
        selected,
        [found.sql("kind")],
        left_out,
        Sql(f"{found.sql()} IS NOT NULL"),
    )


# The SQL function, the one that brings the value as written, and the bound that leaves the answer open.
_EXTREMES = {"least": ("min", "least_of", "<"), "greatest": ("max", "greatest_of", ">")}


def _extreme(
    scope: Scope, question: Question, measure: Aggregate, found: FieldRef, meaning: str
) -> _Aggregated:
    """The least or greatest value as it was written: the least of `>999` and 1.5 is 1.5, the greatest `>999`.

    Open is only a `<x` beside something less than x (and `>x` for the greatest).
    """
    function, as_written, sign = _EXTREMES[measure.name]
    parts = ", ".join(found.sql(part) for part in ("", "number", "unit", "bound"))
    selected = [
        Sql(f"{function}({found.sql()})"),
        Sql(f"{as_written}({parts})"),
        Sql("NULL"),
        Sql("''"),
        Sql(f"max({found.sql('kind')})"),
    ]
    where = conditions_sql(scope, question)
    same = f"t_kind = {found.sql('kind')}"
    picked = f"SELECT {found.sql()} AS t_value, {found.sql('kind')} AS t_kind"
    inner = f'{picked} FROM "{scope.subject.stored}" AS r'
    less = f"SELECT {function}(t_value) FROM ({inner}{' WHERE ' + where.text if where else ''}) WHERE {same}"
    left_out = Sql(
        f"{found.sql('bound')} = '{sign}' AND {found.sql()} {'>' if sign == '<' else '<'} ({less})",
        where.params if where else (),
    )
    return _Aggregated(
        Output(found.label, "measure", meaning),
        selected,
        [found.sql("kind")],
        left_out,
        Sql(f"{found.sql()} IS NOT NULL"),
    )


def _function(name: str, value: str) -> str:
    return f"max({value}) - min({value})" if name == "spread" else f"{_FUNCTIONS[name]}({value})"


def _share(scope: Scope, question: Question, measure: Aggregate) -> _Aggregated:
    states = tuple(clause for clause in question.selections if isinstance(clause, StateClause))
    if not states:
        raise QuestionError(
            "a share wants a state",
            measure.word.column,
            measure.word.end_column,
            "such as `share of joints passing`",
        )
    test = joined(" AND ", selection_sql(scope, states))
    selected = [Sql(f"avg(CASE WHEN {test.text} THEN 1.0 ELSE 0.0 END)", test.params)]
    return _Aggregated(Output("share", "ratio", "share of the rows that have the state"), selected, [])


def _with_units(scope: Scope, question: Question, outputs: list[Output], measure: Aggregate) -> list[Output]:
    """`show value in in-lb` behind a measure: only its own columns can be shown, in another unit."""
    units: set[str] = set()
    for item in question.show:
        if item.unit is not None and item.field.text.lower() in units:
            raise QuestionError(
                "a measure is shown in one unit", item.unit.column, item.unit.end_column, "ask once for each"
            )
        if item.unit is not None:
            units.add(item.field.text.lower())
        names = [output.name for output in outputs]
        if item.field.text.lower() not in names:
            raise _no_output(item.field, names)
        if item.unit is not None:
            found = field(scope, item.field)
            place = names.index(found.label)
            outputs[place] = outputs[place]._replace(unit=unit_spelling(scope, found, item.unit))
    return outputs


def _sorted_by(order: OrderBy, per: list[FieldRef], outputs: list[Output]) -> str:
    name = order.field.text.lower()
    names = [output.name for output in outputs]
    if name not in names:
        raise _no_output(order.field, names)
    grouped = next((found for found in per if found.label == name), None)
    if grouped is not None:
        return order_sql(grouped, order.down)
    number = 1
    for output in outputs[: names.index(name)]:
        number += len(QUANTITY_PARTS) if output.type in ("quantity", "measure") else 1
    return f"{number}{' DESC' if order.down else ''} NULLS LAST"


def _no_output(word: Word, names: list[str]) -> QuestionError:
    return QuestionError(
        f"the answer has no column `{word.text}`",
        word.column,
        word.end_column,
        did_you_mean(word.text, names, f"its columns are {listed(names)}"),
    )

"""From a request to one SQL statement.

Every value of the question is a parameter, every identifier a column of the registry.
"""

from sitelog.asking.question.aggregates import grouped
from sitelog.asking.question.fields import FieldRef, Scope, Sql, StoredNames, field, find_field
from sitelog.asking.question.request import Request
from sitelog.asking.question.statement import (
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
from sitelog.asking.question.tree import Aggregate, Question, Word


def compile(request: Request, known: StoredNames) -> Query:
    """The query that answers a request over what is stored for its day.

    Raises `QuestionError` where the question cannot mean anything.
    """
    question = request.question
    what = question.what.text.lower() if question.what else ""
    scope = Scope(request.subject, request.subjects, request.day, known, what)
    measure = question.measure
    if question.per and measure is None:
        measure = Aggregate("count", question.per[0], None)  # `entries struck per by` counts them
    if measure is None:
        return _rows(scope, question)
    return grouped(scope, question._replace(measure=measure), measure)


def _rows(scope: Scope, question: Question) -> Query:
    shown = [(field(scope, item.field), item.unit) for item in question.show]
    aside: list[str] = []
    if not shown:
        first = scope.subject.shown
        aside = [
            column.name
            for column in scope.subject.all_columns
            if not column.hidden and column.name not in first
        ]
        shown = [(_named(scope, name), None) for name in (*first, *aside)]
    outputs = tuple(_output(scope, found, unit) for found, unit in shown)
    outputs = tuple(output._replace(aside=output.name in aside) for output in outputs)
    selected = ", ".join(place for found, _ in shown for place in selected_parts(found))
    where = conditions_sql(scope, question)
    chosen = _chosen(scope, where)
    limit = limit_sql(question)
    orders = [order_sql(field(scope, order.field), order.down) for order in question.sort]
    orders += ['r."file" COLLATE natural_order', 'r."line"', "r.rowid"]
    sql = (
        f'SELECT r."file", r."line", r."text", {selected} FROM "{scope.subject.stored}" AS r'
        f"{chosen.text} ORDER BY {', '.join(orders)}{limit.text}"
    )
    undecided, notes = undecided_sql(scope, question), notes_of(scope, question)
    return Query(sql, chosen.params + limit.params, outputs, True, undecided, notes)


def _chosen(scope: Scope, where: Sql | None) -> Sql:
    """The WHERE clause for whole rows: they are found first, by an index where one has what is asked."""
    if where is None:
        return Sql("")
    inner = f'SELECT r.rowid FROM "{scope.subject.stored}" AS r WHERE {where.where.text}'
    return Sql(f" WHERE r.rowid IN ({inner})", where.where.params)


def _named(scope: Scope, name: str) -> FieldRef:
    found = find_field(scope, name)
    if found is None:
        raise KeyError(f"{scope.subject.name} show {name}, which is none of their columns")
    return found


def _output(scope: Scope, found: FieldRef, unit: Word | None) -> Output:
    column = found.column
    spelling = unit_spelling(scope, found, unit) if unit else ""
    return Output(found.label, column.type, column.meaning, spelling)

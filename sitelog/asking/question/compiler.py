"""From a request to one SQL statement.

Every value of the question is a parameter, every identifier a column of the registry.
"""

from sitelog.asking.question.aggregates import grouped
from sitelog.asking.question.contradictions import refuse_contradictions
from sitelog.asking.question.errors import QuestionError
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
    refuse_contradictions(scope, question)
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
    outputs = _named_apart(question, [_output(scope, found, unit) for found, unit in shown])
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


def _named_apart(question: Question, outputs: list[Output]) -> tuple[Output, ...]:
    """The columns, each with a name of its own: a field shown again has its unit in its name.

    Raises `QuestionError` for a field that is shown twice in the same unit.
    """
    found: list[Output] = []
    for at, output in enumerate(outputs):
        if any(output.name == other.name for other in outputs[:at]):
            name = f"{output.name} in {output.unit}" if output.unit else output.name
            if any(name == other.name for other in found):
                word = question.show[at].field
                raise QuestionError(f"`{word.text}` is shown twice", word.column, word.end_column)
            found.append(output._replace(name=name))
        else:
            found.append(output)
    return tuple(found)


def _output(scope: Scope, found: FieldRef, unit: Word | None) -> Output:
    column = found.column
    spelling = unit_spelling(scope, found, unit) if unit else ""
    return Output(found.label, column.type, column.meaning, spelling)

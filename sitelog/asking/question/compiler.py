"""From the tree of a question to one SQL statement.

Every value of the question is a parameter, every identifier a column of the registry.
"""

from collections.abc import Mapping
from datetime import date

from sitelog.asking.question.conditions import joined
from sitelog.asking.question.dimensions import units_of
from sitelog.asking.question.errors import QuestionError, did_you_mean, listed
from sitelog.asking.question.fields import (
    Field,
    Known,
    Param,
    Scope,
    Sql,
    field,
    find_field,
    kind_of,
    stored_kinds,
)
from sitelog.asking.question.matching import any_name
from sitelog.asking.question.read import no_measured_field, no_such_word
from sitelog.asking.question.selecting import as_of, selection_sql
from sitelog.asking.question.tree import Measure, Order, Question, States, Word
from sitelog.asking.subjects import HISTORIES, Subject
from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import NOT_APPLICABLE, VERDICTS

QUANTITY_PARTS = ("", "number", "unit", "bound", "kind")
_FUNCTIONS = {"sum": "sum", "least": "min", "greatest": "max", "mean": "avg", "median": "median"}
_OF_DAYS = {"oldest": "min", "newest": "max"}
_WORST_FIRST = f"|{'|'.join((*VERDICTS, NOT_APPLICABLE))}|"
_MOST_ROWS = 10**9


class Output(NamedTuple):
    """One column of an answer. A `quantity` takes as many places in a stored row as QUANTITY_PARTS."""

    name: str
    type: str
    meaning: str
    unit: str = ""
    aside: bool = False  # not asked for, and not what people read first: a program gets it, a table does not


class Query(NamedTuple):
    """A statement with its parameters, what its columns are, and how to count what stayed undecided.

    With `lines` each row begins with the file, the line and the text of the entry.
    """

    sql: str
    params: tuple[Param, ...]
    columns: tuple[Output, ...]
    lines: bool
    undecided: Sql | None


def compile(question: Question, subjects: Mapping[str, Subject], today: date, known: Known) -> Query:
    """The query that answers a question; raises QuestionError where it cannot mean anything."""
    subject = _subject(question, subjects)
    if question.history is not None:
        subject = _history(question.history, subject)
    what = question.what.text.lower() if question.what else ""
    scope = Scope(subject, subjects, today, known, what)
    if question.what is not None and (wrong := no_such_word(subject, question.what)) is not None:
        raise wrong
    as_of(question, today)  # the rows are those of that day; here only a slip in it is found
    measure = question.measure
    if question.per and measure is None:
        measure = Measure("count", question.per[0], None)  # `entries struck per by` counts them
    return _rows(scope, question) if measure is None else _grouped(scope, question, measure)


def _subject(question: Question, subjects: Mapping[str, Subject]) -> Subject:
    word, measure = question.subject, question.measure
    found = subjects.get(word.text.lower())
    if found is None:
        measured = measure.field if measure is not None else None
        if measure is not None and measured is not None and measured.text.lower() in subjects:
            raise no_measured_field(measure.name, measured)  # `least readings insulation`
        raise QuestionError(
            f"there is nothing called `{word.text}` to ask for",
            word.column,
            word.end_column,
            did_you_mean(word.text, subjects, f"ask for {listed(subjects)}"),
        )
    return found


def _history(word: Word, subject: Subject) -> Subject:
    found = HISTORIES.get(subject.name)
    if found is None:
        raise QuestionError(
            f"{subject.name} have no history of their own",
            word.column,
            word.end_column,
            f"each is a row already, or `entries` has it; a history have {listed(HISTORIES)}",
        )
    return found


def _conditions(scope: Scope, question: Question, *, states: bool = True) -> Sql | None:
    parts: list[Sql] = []
    if question.what is not None:
        what = find_field(scope, "what")
        assert what is not None  # `compile` has seen to it
        parts.append(any_name(scope, what, (question.what,)))
    chosen = tuple(one for one in question.selections if states or not isinstance(one, States))
    parts += selection_sql(scope, chosen)
    return joined(" AND ", parts) if parts else None


def _undecided(scope: Scope, question: Question, more: Sql | None = None) -> Sql | None:
    """How many rows a censored value kept out: null with its bound, told without it."""
    test, plain = _conditions(scope, question), _conditions(scope._replace(censored=False), question)
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
    sums = " + ".join(f"(SELECT count(*) {table} WHERE {one.text})" for one in counts)
    return Sql(f"SELECT {sums}", tuple(param for one in counts for param in one.params))


def _places(found: Field) -> list[str]:
    """What to select for a field."""
    if found.column.type == "quantity":
        return [found.sql(part) for part in QUANTITY_PARTS]
    return [found.sql()]


def _limit(question: Question) -> Sql:
    word = question.first
    if word is None:
        return Sql("")
    if not word.text.isdigit() or not 0 < int(word.text[:20]) < _MOST_ROWS:
        raise QuestionError(
            f"`{word.text}` is no number of rows", word.column, word.end_column, "write `first 5`"
        )
    return Sql(" LIMIT ?", (int(word.text),))


# -- rows -------------------------------------------------------------------------------------------


def _rows(scope: Scope, question: Question) -> Query:
    shown = [(field(scope, one.field), one.unit) for one in question.show]
    aside: list[str] = []
    if not shown:
        first = scope.subject.shown
        aside = [one.name for one in scope.subject.all_columns if not one.hidden and one.name not in first]
        shown = [(_named(scope, name), None) for name in (*first, *aside)]
    outputs = tuple(_output(scope, found, unit) for found, unit in shown)
    outputs = tuple(one._replace(aside=one.name in aside) for one in outputs)
    selected = ", ".join(place for found, _ in shown for place in _places(found))
    where = _conditions(scope, question)
    chosen = _chosen(scope, where)
    limit = _limit(question)
    orders = [_order(field(scope, one.field), one.down) for one in question.sort]
    orders += ['r."file" COLLATE natural_order', 'r."line"', "r.rowid"]
    sql = (
        f'SELECT r."file", r."line", r."text", {selected} FROM "{scope.subject.stored}" AS r'
        f"{chosen.text} ORDER BY {', '.join(orders)}{limit.text}"
    )
    return Query(sql, chosen.params + limit.params, outputs, True, _undecided(scope, question))


def _chosen(scope: Scope, where: Sql | None) -> Sql:
    """The WHERE clause for whole rows: they are found first, by an index where one has what is asked."""
    if where is None:
        return Sql("")
    inner = f'SELECT r.rowid FROM "{scope.subject.stored}" AS r WHERE {where.where.text}'
    return Sql(f" WHERE r.rowid IN ({inner})", where.where.params)


def _named(scope: Scope, name: str) -> Field:
    found = find_field(scope, name)
    if found is None:
        raise KeyError(f"{scope.subject.name} show {name}, which is none of their columns")
    return found


def _order(found: Field, down: bool) -> str:
    """Text in natural order, verdicts from the worst; what is absent comes last either way."""
    sql, text = found.sql(), found.sql()
    if found.column.name == "verdict":
        text = f"instr('{_WORST_FIRST}', '|' || {sql} || '|')"
    elif found.column.type == "text":
        text = f"{sql} COLLATE natural_order"
    return f"{sql} IS NULL, {text}{' DESC' if down else ''}"


def _output(scope: Scope, found: Field, unit: Word | None) -> Output:
    column = found.column
    spelling = _unit(scope, found, unit) if unit else ""
    return Output(found.label, column.type, column.meaning, spelling)


def _unit(scope: Scope, found: Field, word: Word) -> str:
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


# -- counts, shares, sums ---------------------------------------------------------------------------


class _Result(NamedTuple):
    """The measured column: what is selected for it, what groups it, which rows are left out or have none."""

    output: Output
    selected: list[Sql]
    groups: list[str]
    left_out: Sql | None = None
    has: Sql | None = None


def _grouped(scope: Scope, question: Question, measure: Measure) -> Query:
    per = [field(scope, word) for word in question.per]
    result = _measured(scope, question, measure)
    columns = [Output(found.label, found.column.type, found.column.meaning) for found in per]
    selected = [Sql(place) for found in per for place in _places(found)] + result.selected
    outputs = [*columns, result.output]
    if measure.name == "share":
        outputs.append(Output("count", "number", "rows that the share is of"))
        selected.append(Sql("count(*)"))
    outputs = _with_units(scope, question, outputs, measure)
    where = _conditions(scope, question, states=measure.name != "share")
    if result.has:
        parts = [where, result.has] if where else [result.has]
        where = joined(" AND ", parts)
    limit = _limit(question)
    groups = [found.sql() for found in per] + [
        found.sql(part) for found in per if found.column.type == "quantity" for part in ("kind", "bound")
    ]
    groups += result.groups
    # Without `per` and without rows there is nothing to report but a count of none.
    having = "" if groups or measure.name == "count" else " HAVING count(*) > 0"
    orders = [_sorted_by(one, per, outputs) for one in question.sort]
    orders += [_order(found, False) for found in per]
    sql = (
        f'SELECT {", ".join(one.text for one in selected)} FROM "{scope.subject.stored}" AS r'
        f"{' WHERE ' + where.where.text if where else ''}"
        f"{' GROUP BY ' + ', '.join(groups) if groups else ''}{having}"
        f"{' ORDER BY ' + ', '.join(orders) if orders else ''}{limit.text}"
    )
    params = (
        tuple(param for one in selected for param in one.params)
        + (where.where.params if where else ())
        + limit.params
    )
    return Query(sql, params, tuple(outputs), False, _undecided(scope, question, result.left_out))


def _measured(scope: Scope, question: Question, measure: Measure) -> _Result:
    if measure.name == "count":
        return _Result(Output("count", "number", "how many rows"), [Sql("count(*)")], [])
    if measure.name == "share":
        return _share(scope, question, measure)
    assert measure.field is not None
    found = field(scope, measure.field)
    meaning = f"{measure.name} of: {found.column.meaning}"
    of_days, is_day = measure.name in _OF_DAYS, found.column.type == "day"
    if is_day and of_days:
        return _Result(
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
        return _Result(Output(found.label, kind, meaning), [Sql(_function(measure.name, found.sql()))], [])
    return _quantity_measure(scope, question, measure, found, meaning)


def _quantity_measure(
    scope: Scope, question: Question, measure: Measure, found: Field, meaning: str
) -> _Result:
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
    return _Result(
        Output(found.label, "measure", meaning),
        selected,
        [found.sql("kind")],
        left_out,
        Sql(f"{found.sql()} IS NOT NULL"),
    )


# The SQL function, the one that brings the value as written, and the bound that leaves the answer open.
_EXTREMES = {"least": ("min", "least_of", "<"), "greatest": ("max", "greatest_of", ">")}


def _extreme(scope: Scope, question: Question, measure: Measure, found: Field, meaning: str) -> _Result:
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
    where = _conditions(scope, question)
    same = f"t_kind = {found.sql('kind')}"
    picked = f"SELECT {found.sql()} AS t_value, {found.sql('kind')} AS t_kind"
    inner = f'{picked} FROM "{scope.subject.stored}" AS r'
    less = f"SELECT {function}(t_value) FROM ({inner}{' WHERE ' + where.text if where else ''}) WHERE {same}"
    left_out = Sql(
        f"{found.sql('bound')} = '{sign}' AND {found.sql()} {'>' if sign == '<' else '<'} ({less})",
        where.params if where else (),
    )
    return _Result(
        Output(found.label, "measure", meaning),
        selected,
        [found.sql("kind")],
        left_out,
        Sql(f"{found.sql()} IS NOT NULL"),
    )


def _function(name: str, value: str) -> str:
    return f"max({value}) - min({value})" if name == "spread" else f"{_FUNCTIONS[name]}({value})"


def _share(scope: Scope, question: Question, measure: Measure) -> _Result:
    states = tuple(one for one in question.selections if isinstance(one, States))
    if not states:
        raise QuestionError(
            "a share wants a state",
            measure.word.column,
            measure.word.end_column,
            "such as `share of joints passing`",
        )
    test = joined(" AND ", selection_sql(scope, states))
    selected = [Sql(f"avg(CASE WHEN {test.text} THEN 1.0 ELSE 0.0 END)", test.params)]
    return _Result(Output("share", "ratio", "share of the rows that have the state"), selected, [])


def _with_units(scope: Scope, question: Question, outputs: list[Output], measure: Measure) -> list[Output]:
    """`show value in in-lb` behind a measure: only its own columns can be shown, in another unit."""
    for one in question.show:
        names = [output.name for output in outputs]
        if one.field.text.lower() not in names:
            raise _no_output(one.field, names)
        if one.unit is not None:
            found = field(scope, one.field)
            place = names.index(found.label)
            outputs[place] = outputs[place]._replace(unit=_unit(scope, found, one.unit))
    return outputs


def _sorted_by(order: Order, per: list[Field], outputs: list[Output]) -> str:
    name = order.field.text.lower()
    names = [output.name for output in outputs]
    if name not in names:
        raise _no_output(order.field, names)
    grouped = next((found for found in per if found.label == name), None)
    if grouped is not None:
        return _order(grouped, order.down)
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

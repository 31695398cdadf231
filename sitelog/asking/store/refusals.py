"""Questions without an answer because of a slip that only the stored rows can show.

A place or a sort of another subject (`joints in anchor-1`, where anchor-1 is a hole) can only give an empty
answer: it is an error that names the subject which has it. Looked for only where an answer is empty, and not
among subjects where none is a good answer, such as the defects of a place. A measure over values of several
sorts (`sum value of readings`) gives a figure without a meaning: it is refused too.
"""

from collections.abc import Iterator, Sequence

from sitelog.asking.question.contradictions import leaves
from sitelog.asking.question.errors import QuestionError, listed
from sitelog.asking.question.fields import PLACES, FieldRef, Scope, find_field, place_field
from sitelog.asking.question.matching import any_name
from sitelog.asking.question.request import Request
from sitelog.asking.question.statement import Query
from sitelog.asking.question.tree import Compare, In, Is, Operand, PlaceClause, WhereClause, Word
from sitelog.asking.store.store import Store

# Subjects with a row for each thing that a sheet asks or a log holds: what has no row is none of theirs.
_COMPLETE = frozenset(("joints", "torques", "readings", "holes", "parts", "cables", "steps"))
_OF_SORTS = frozenset(("readings", "looks", "settings", "series"))
_ASKED_AS = {"torques": "joints"}  # a joint not yet tightened has no row of torques


def refuse_mixed_sorts(store: Store, request: Request, query: Query) -> None:
    """Raises `QuestionError` where a measure would be taken over values of several sorts."""
    measure = request.question.measure
    if query.sorts is None or measure is None or measure.field is None:
        return
    mixed = next(store.select(query.sorts.text, query.sorts.params), None)
    if mixed is not None:
        word = measure.field
        raise QuestionError(
            f"`{measure.name} {word.text}` over {mixed[0]} sorts means nothing",
            word.column,
            word.end_column,
            f"there are `{mixed[1]}` and `{mixed[2]}`: ask for one sort, such as"
            f" `{measure.name} {word.text} of {request.subject.name} {mixed[1]}`, or `per what`",
        )


def refuse_foreign_names(store: Store, request: Request) -> None:
    """Raises `QuestionError` for a place or a sort that no row of the subject has, and others have."""
    if store.is_past:
        return  # what was not there yet on that day is no slip
    base = request.subjects.get(_ASKED_AS.get(request.subject.name, request.subject.name))
    if base is None:
        return
    scope = Scope(base, request.subjects, request.day, store)
    for field, words, in_groups in _named(scope, request):
        subjects = _OF_SORTS if field.column.name == "what" else _COMPLETE
        if base.name not in subjects:
            continue
        for word in words:
            if not _has(store, scope, field, word, in_groups):
                raise _foreign(store, scope, field, word, in_groups)


def _named(scope: Scope, request: Request) -> Iterator[tuple[FieldRef, Sequence[Word], bool]]:
    """Each field of places or sorts that a question names, with the words, and whether groups are meant."""
    question = request.question
    what, place = find_field(scope, "what"), place_field(scope)
    if question.what is not None and what is not None:
        yield what, (question.what,), False
    for clause in question.selections:
        if isinstance(clause, PlaceClause) and clause.preposition.text.lower() == "in" and place is not None:
            yield place, clause.names, True
        elif isinstance(clause, WhereClause):
            items: tuple[Operand, ...]
            for part in leaves(clause.condition):
                if isinstance(part, Compare) and part.op == "=":
                    left, items = part.left, (part.right,)
                elif isinstance(part, In) and not part.negated:
                    left, items = part.value, part.items
                elif isinstance(part, Is) and not part.negated and part.pattern is not None:
                    left, items = part.value, (part.pattern,)
                else:
                    continue
                found = find_field(scope, left.text) if isinstance(left, Word) else None
                words = [item for item in items if isinstance(item, Word)]
                if found is not None and found.label in (*PLACES, "what") and len(words) == len(items):
                    yield found, words, place is not None and found.label == place.label


def _has(store: Store, scope: Scope, field: FieldRef, word: Word, in_groups: bool) -> bool:
    try:
        test = any_name(scope, field, (word,), groups=in_groups)
    except QuestionError:  # no row of any subject has it in such a column
        return False
    sql = f'SELECT 1 FROM "{scope.subject.stored}" AS r WHERE {test.where.text} LIMIT 1'
    return next(store.select(sql, test.where.params), None) is not None


def _foreign(store: Store, scope: Scope, field: FieldRef, word: Word, in_groups: bool) -> QuestionError:
    is_sort = field.column.name == "what"
    owners: list[str] = []
    for subject in scope.subjects.values():
        other = scope._replace(subject=subject)
        same = find_field(other, "what") if is_sort else place_field(other)
        if same is not None and _has(store, other, same, word, in_groups):
            owners.append(subject.name)
    kind = "sort" if is_sort else "place"
    return QuestionError(
        f"`{word.text}` is no {kind} of {scope.subject.name}",
        word.column,
        word.end_column,
        f"it is one of {listed(owners)}" if owners else f"`{scope.subject.name}` without it lists them all",
    )

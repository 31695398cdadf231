"""Which rows count for a measure, and which a negated condition says nothing about.

A measure of values (sum, least, greatest, mean, median, spread of a quantity or a share) takes what counts:
final values that were neither struck nor replaced, of joints that nobody has loosed since. Evidence needed:
the standing entry of each place; of `history`, every entry that was not struck. A count, a share and the
oldest or newest day take every row that was not struck. A question that names such rows itself, such as
`count torques struck`, gets them. `entries` are lines of the log and no measurements: all of them count.
"""

from collections.abc import Iterator

from sitelog.asking.question.fields import Scope, Sql, find_field
from sitelog.asking.question.states import STATES
from sitelog.asking.question.tree import Between as BetweenCondition
from sitelog.asking.question.tree import Compare, Has, In, Is, NamedState, Not, Question, Word
from sitelog.base.frozen import NamedTuple

_OF_VALUES = frozenset(("sum", "least", "greatest", "mean", "median", "spread"))
_MODES = frozenset(("mode", "final", "pre", "pre-only", "held", "moved", "loosed"))


class CountingRule(NamedTuple):
    """A condition that is true of rows that count, and what the others are, in a word or two."""

    test: Sql
    reason: str


def counting_rules(scope: Scope, question: Question) -> tuple[CountingRule, ...]:
    """The conditions that a row meets to count for the measure of a question; none without one."""
    if question.measure is None or scope.subject.name == "entries":
        return ()
    asked = {word.lower() for word in _words(question.selections)}
    is_history = bool(scope.subject.table)
    states = STATES.get(scope.subject.name, frozenset())
    found: list[CountingRule] = []
    if (is_history or "struck" in states) and "struck" not in asked:
        found.append(CountingRule(_without("struck"), "struck"))
    if is_history or not _is_of_values(scope, question):
        return tuple(found)
    if "replaced" in states and "replaced" not in asked:
        found.append(CountingRule(_without("replaced"), "replaced"))
    if "reopened" in states and "reopened" not in asked:
        found.append(CountingRule(_without("reopened"), "reopened"))
    if find_field(scope, "final") is not None and not asked & _MODES:
        found.append(CountingRule(Sql('coalesce(r."final", 0) = 1'), "not final"))
    return tuple(found)


def has_negation(question: Question) -> bool:
    """Whether a condition behind `where` is negated: there an unknown value is neither in nor out."""
    return any(_is_negated(part) for part in _parts(question.selections))


def _is_negated(part: object) -> bool:
    if isinstance(part, Compare):
        return part.op == "!="
    return isinstance(part, Not) or (isinstance(part, BetweenCondition | In | Is | Has) and part.negated)


def _is_of_values(scope: Scope, question: Question) -> bool:
    measure = question.measure
    if measure is None or measure.name not in _OF_VALUES or measure.field is None:
        return False
    found = find_field(scope, measure.field.text)
    return found is not None and found.column.type in ("quantity", "ratio")


def _without(state: str) -> Sql:
    return Sql(f"coalesce(instr(r.\"states\", ' {state} '), 0) = 0")


def _words(part: object) -> Iterator[str]:
    """Every word that the selections of a question hold, and the names of its states."""
    for node in _parts(part):
        if isinstance(node, Word):
            yield node.text
        elif isinstance(node, NamedState):
            yield node.name


def _parts(part: object) -> Iterator[object]:
    """A part of a question and all parts within it."""
    if isinstance(part, tuple):
        yield part
        for inner in part:
            yield from _parts(inner)

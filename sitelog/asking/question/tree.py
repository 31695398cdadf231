"""A question as a tree. Every part knows its columns, so that an error can point at it."""

from sitelog.base.frozen import NamedTuple

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import assert_never as assert_never
else:

    def assert_never(part):
        raise AssertionError(part)


class Word(NamedTuple):
    """One word or quoted text of the question; columns count from 1, the end is exclusive."""

    text: str
    column: int
    end_column: int
    quoted: bool = False


class Number(NamedTuple):
    """A number and the word after it, if any: `2 MΩ`."""

    number: Word
    unit: Word | None


class Relative(NamedTuple):
    """A day relative to today: `today`, `last month`."""

    word: Word


class Chain(NamedTuple):
    """`first op term op term ...` with operators of one rank: + and -, or * and /."""

    first: "Operand"
    rest: tuple[tuple[str, "Operand"], ...]


Operand = Word | Number | Relative | Chain


class Compare(NamedTuple):
    """`left op right` with op one of < <= > >= = !=."""

    left: Operand
    op: str
    right: Operand


class Between(NamedTuple):
    """`value between low and high`, both included."""

    value: Operand
    low: Operand
    high: Operand
    negated: bool


class In(NamedTuple):
    """`value in (item, item)`."""

    value: Operand
    items: tuple[Operand, ...]
    negated: bool


class Is(NamedTuple):
    """`value is pattern`; without a pattern `value is none`."""

    value: Operand
    pattern: Operand | None
    negated: bool


class Has(NamedTuple):
    """`value has "text"`."""

    value: Operand
    part: Operand
    negated: bool


class Not(NamedTuple):
    """`not condition`."""

    condition: "Condition"


class AllOf(NamedTuple):
    """`a and b and c`."""

    parts: tuple["Condition", ...]


class AnyOf(NamedTuple):
    """`a or b or c`."""

    parts: tuple["Condition", ...]


Condition = Compare | Between | In | Is | Has | Not | AllOf | AnyOf


class Aggregate(NamedTuple):
    """What is asked of the rows: `count`, `share`, or a function of a field such as `least value`."""

    name: str
    word: Word
    field: Word | None


class NamedState(NamedTuple):
    """One state by its normal name, such as `under` or `not-tested`."""

    name: str
    word: Word
    negated: bool


class StateClause(NamedTuple):
    """States joined with `or`."""

    any_of: tuple[NamedState, ...]


class PlaceClause(NamedTuple):
    """`at`, `of`, `in`, `with`, `by` or `for` with names."""

    preposition: Word
    names: tuple[Word, ...]


class TimeClause(NamedTuple):
    """A clause on days: `on`, `since`, `since-signed`, `until`, `before`, `as-of`, `within` or `older`."""

    kind: str
    word: Word
    moment: Word | Relative | None = None
    number: Word | None = None
    unit: Word | None = None


class SizeClause(NamedTuple):
    """`below`, `above` or `between` with sizes; `between` may turn out to speak of days."""

    kind: str
    word: Word
    bounds: tuple[Number | Word | Relative, ...]


class WhereClause(NamedTuple):
    """`where` and its condition."""

    word: Word
    condition: Condition


Selection = StateClause | PlaceClause | TimeClause | SizeClause | WhereClause


class ShownField(NamedTuple):
    """A field to show, and in which unit."""

    field: Word
    unit: Word | None


class OrderBy(NamedTuple):
    """A field to sort by."""

    field: Word
    down: bool


class Question(NamedTuple):
    """A whole question."""

    text: str
    subject: Word
    what: Word | None
    measure: Aggregate | None
    selections: tuple[Selection, ...]
    per: tuple[Word, ...]
    show: tuple[ShownField, ...]
    sort: tuple[OrderBy, ...]
    first: Word | None
    history: Word | None = None


def span(part: Operand) -> tuple[int, int]:
    """The columns from the first to behind the last character of an operand."""
    if isinstance(part, Word):
        return part.column, part.end_column
    if isinstance(part, Relative):
        return span(part.word)
    if isinstance(part, Number):
        return part.number.column, (part.unit or part.number).end_column
    return span(part.first)[0], span(part.rest[-1][1])[1]


_SHOWN_AS = {
    "Aggregate": "measure",
    "StateClause": "states",
    "NamedState": "state",
    "ShownField": "shown",
    "OrderBy": "order",
}


def outline(part: object, indent: int = 0) -> str:
    """The tree as indented lines, for people who want to see how a question was understood."""
    pad = "  " * indent
    if isinstance(part, Word):
        return f'{pad}"{part.text}"' if part.quoted else f"{pad}{part.text}"
    if isinstance(part, Number):
        return f"{pad}{part.number.text}{' ' + part.unit.text if part.unit else ''}"
    if isinstance(part, tuple) and hasattr(part, "_fields"):
        node = type(part).__name__
        lines = [f"{pad}{_SHOWN_AS.get(node) or node.removesuffix('Clause').lower()}"]
        for name, value in zip(part._fields, part, strict=True):
            if name in ("text", "word", "column", "end_column") or value in (None, (), False):
                continue
            lines.append(_named(name, value, indent + 1))
        return "\n".join(lines)
    if isinstance(part, tuple):
        return "\n".join(outline(item, indent) for item in part)
    return f"{pad}{part}"


def _named(name: str, value: object, indent: int) -> str:
    pad = "  " * indent
    inner = outline(value, indent + 1)
    if "\n" in inner or (isinstance(value, tuple) and not isinstance(value, Word | Number)):
        return f"{pad}{name}:\n{inner}"
    return f"{pad}{name}: {inner.strip()}"

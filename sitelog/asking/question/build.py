"""From the parser's tree to the typed one of `tree`."""

from typing import Any

from lark import Token, Transformer, Tree

from sitelog.asking.question.tree import (
    Aggregate,
    AllOf,
    AnyOf,
    Between,
    Chain,
    Compare,
    Condition,
    Has,
    In,
    Is,
    NamedState,
    Not,
    Number,
    Operand,
    OrderBy,
    PlaceClause,
    Question,
    Relative,
    Selection,
    ShownField,
    SizeClause,
    StateClause,
    TimeClause,
    WhereClause,
    Word,
)

_OPERATORS = {
    "<=": "<=",
    "≤": "<=",
    ">=": ">=",
    "≥": ">=",
    "==": "=",
    "<>": "!=",
    "≠": "!=",
    "below": "<",
    "under": "<",
    "above": ">",
    "over": ">",
}

_Children = list[Any]  # what a rule's children are is for its method to know


def build(tree: Tree[Token], text: str) -> Question:
    """The question that a parse tree means."""
    parts: _Children = _Builder().transform(tree).children
    subject, what = next(part for part in parts if isinstance(part, _Subject))
    shapes = [part for part in parts if isinstance(part, _Shape)]
    return Question(
        text,
        subject,
        what,
        next((part for part in parts if isinstance(part, Aggregate)), None),
        tuple(part for part in parts if isinstance(part, Selection)),
        _items(shapes, "per"),
        _items(shapes, "show"),
        _items(shapes, "sort"),
        next(iter(_items(shapes, "first")), None),
        next((part for part in parts if isinstance(part, Word)), None),
    )


class RepeatedShapeError(Exception):
    """`per`, `show`, `sort` or `first` said twice; `word` is the second."""

    def __init__(self, word: Word) -> None:
        super().__init__(word.text)
        self.word = word


class _Subject(tuple[Word, Word | None]):
    """The subject and the `what` behind it."""


class _Shape(tuple[Word, tuple[Any, ...]]):
    """The shape's keyword and what it lists."""


def _items(shapes: list[_Shape], name: str) -> tuple[Any, ...]:
    found = [shape for shape in shapes if shape[0].text.lower() == name]
    if len(found) > 1:
        raise RepeatedShapeError(found[1][0])
    return found[0][1] if found else ()


def _word(token: Token) -> Word:
    column = token.column or 1
    if token.type == "STRING":
        return Word(str(token)[1:-1], column, column + len(token), quoted=True)
    return Word(str(token), column, column + len(token))


def _joined(tokens: _Children) -> Word:
    """Several tokens as one word: `last month`."""
    first, last = _word(tokens[0]), _word(tokens[-1])
    return Word(" ".join(map(str, tokens)), first.column, last.end_column)


def _negated(children: _Children) -> tuple[bool, _Children]:
    """Whether a NOT stands among the children, and the children without keywords."""
    negated = any(isinstance(child, Token) and child.type == "NOT" for child in children)
    return negated, [child for child in children if not isinstance(child, Token)]


class _Builder(Transformer[Token, Any]):
    # -- what is asked -----------------------------------------------------------------------------
    def count(self, children: _Children) -> Aggregate:
        return Aggregate("count", _word(children[0]), None)

    def share(self, children: _Children) -> Aggregate:
        return Aggregate("share", _word(children[0]), None)

    def function(self, children: _Children) -> Aggregate:
        return Aggregate(str(children[0]).lower(), _word(children[0]), children[1])

    def history(self, children: _Children) -> Word:
        return _word(children[0])

    def subject(self, children: _Children) -> _Subject:
        what = _word(children[1]) if children[1] is not None else None
        return _Subject((_word(children[0]), what))

    # -- which rows --------------------------------------------------------------------------------
    def states(self, children: _Children) -> StateClause:
        return StateClause(tuple(children))

    def state(self, children: _Children) -> NamedState:
        words = [str(child).lower() for child in children]
        # `under torque` is `under`; `out of order` is spelt `out-of-order` where it is stored
        name = words[0] if words[-1] == "torque" else "-".join(words)
        return NamedState(name, _joined(children), negated=False)

    def not_state(self, children: _Children) -> NamedState:
        state: NamedState = children[1]
        word = state.word._replace(column=_word(children[0]).column)
        return state._replace(negated=True, word=word)

    def place(self, children: _Children) -> PlaceClause:
        return PlaceClause(_word(children[0]), tuple(map(_word, children[1:])))

    def on(self, children: _Children) -> TimeClause:
        return self._moment("on", children)

    def since(self, children: _Children) -> TimeClause:
        return self._moment("since", children)

    def until(self, children: _Children) -> TimeClause:
        return self._moment("until", children)

    def before(self, children: _Children) -> TimeClause:
        return self._moment("before", children)

    def as_of(self, children: _Children) -> TimeClause:
        return self._moment("as-of", children)

    def since_signed(self, children: _Children) -> TimeClause:
        return TimeClause("since-signed", _joined(children))

    def within(self, children: _Children) -> TimeClause:
        return self._stretch("within", children)

    def older(self, children: _Children) -> TimeClause:
        return self._stretch("older", children)

    def _moment(self, kind: str, children: _Children) -> TimeClause:
        moment = children[-1]
        return TimeClause(kind, _word(children[0]), _word(moment) if isinstance(moment, Token) else moment)

    def _stretch(self, kind: str, children: _Children) -> TimeClause:
        return TimeClause(kind, _word(children[0]), None, _word(children[-2]), _word(children[-1]))

    def below(self, children: _Children) -> SizeClause:
        return SizeClause("below", _word(children[0]), tuple(children[1:]))

    def above(self, children: _Children) -> SizeClause:
        return SizeClause("above", _word(children[0]), tuple(children[1:]))

    def between(self, children: _Children) -> SizeClause:
        return SizeClause("between", _word(children[0]), tuple(children[1:]))

    def bound(self, children: _Children) -> Number | Word:
        return self.number(children) if children[0].type == "NUMBER" else _word(children[0])

    def relative(self, children: _Children) -> Relative:
        return Relative(_joined(children))

    # -- where -------------------------------------------------------------------------------------
    def where(self, children: _Children) -> WhereClause:
        return WhereClause(_word(children[0]), children[1])

    def any_of(self, children: _Children) -> Condition:
        return AnyOf(tuple(children))

    def all_of(self, children: _Children) -> Condition:
        return AllOf(tuple(children))

    def negated(self, children: _Children) -> Condition:
        return Not(children[1])

    def operator(self, children: _Children) -> str:
        written = str(children[0]).lower()
        return _OPERATORS.get(written, written)

    def compare(self, children: _Children) -> Condition:
        return Compare(*children)

    def compare_between(self, children: _Children) -> Condition:
        negated, (value, low, high) = _negated(children)
        return Between(value, low, high, negated)

    def compare_in(self, children: _Children) -> Condition:
        negated, (value, *items) = _negated(children)
        return In(value, tuple(items), negated)

    def compare_is(self, children: _Children) -> Condition:
        negated, (value, *pattern) = _negated(children)
        return Is(value, pattern[0] if pattern else None, negated)

    def compare_has(self, children: _Children) -> Condition:
        negated, (value, part) = _negated(children)
        return Has(value, part, negated)

    def chain(self, children: _Children) -> Operand:
        operators = map(str, children[1::2])
        return Chain(children[0], tuple(zip(operators, children[2::2], strict=True)))

    def number(self, children: _Children) -> Number:
        number, unit = children
        return Number(_word(number), _word(unit) if unit is not None else None)

    def text(self, children: _Children) -> Word:
        return _word(children[0])

    def word(self, children: _Children) -> Word:
        return _word(children[0])

    # -- in what shape -----------------------------------------------------------------------------
    def per(self, children: _Children) -> _Shape:
        return _Shape((_word(children[0]), tuple(children[1:])))

    def show(self, children: _Children) -> _Shape:
        return _Shape((_word(children[0]), tuple(children[1:])))

    def shown(self, children: _Children) -> ShownField:
        field, _, unit = children if len(children) == 3 else (*children, None)
        return ShownField(field, _word(unit) if unit is not None else None)

    def sort(self, children: _Children) -> _Shape:
        return _Shape((_word(children[0]), tuple(child for child in children if isinstance(child, OrderBy))))

    def order(self, children: _Children) -> OrderBy:
        return OrderBy(children[0], children[1] is not None and children[1].type == "DOWN")

    def first(self, children: _Children) -> _Shape:
        return _Shape((_word(children[0]), (_word(children[1]),)))

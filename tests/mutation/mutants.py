"""The mutants of a module: one small fault each, made in its syntax tree.

In: the source of a module. Out: its mutants, each with the words that say what was changed, and the tree
of one to be run.
"""

import ast
from collections.abc import Iterator
from typing import NamedTuple

_COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
_ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Pow: ast.Mult,
}


class Mutant(NamedTuple):
    """One fault: where it stands, what was written there, and what stands there instead."""

    line: int
    function: str
    before: str
    after: str
    number: int  # of the place in the module
    choice: int  # of what can stand there instead

    @property
    def change(self) -> str:
        """The fault without its line number, so that it is known again when the file has grown."""
        return f"`{self.function}` `{self.before}` → `{self.after}`"


class _Place(NamedTuple):
    """A node, what holds it, and the function around it."""

    node: ast.AST
    parent: ast.AST
    field: str
    index: int | None
    function: str


def mutants_of(source: str) -> list[Mutant]:
    """Every mutant of a module, in the order of its lines."""
    return [
        Mutant(
            getattr(place.node, "lineno", 0), place.function, _shown(place.node), _shown(new), number, choice
        )
        for number, place in enumerate(_places(ast.parse(source)))
        for choice, new in enumerate(_changed(place))
    ]


def tree_of(source: str, mutant: Mutant) -> ast.Module:
    """The syntax tree of the module with the fault in it, to be compiled."""
    tree = ast.parse(source)
    place = next(place for number, place in enumerate(_places(tree)) if number == mutant.number)
    new = ast.copy_location(_changed(place)[mutant.choice], place.node)
    if place.index is None:
        setattr(place.parent, place.field, new)
    else:
        getattr(place.parent, place.field)[place.index] = new
    return ast.fix_missing_locations(tree)


def _shown(node: ast.AST) -> str:
    return " ".join(ast.unparse(node).split())


def _places(tree: ast.Module) -> Iterator[_Place]:
    """Every node that is run, with its place; annotations, decorators, imports and docstrings are none."""
    yield from _below(tree, "")


def _below(parent: ast.AST, function: str) -> Iterator[_Place]:
    for field, value in ast.iter_fields(parent):
        if field in ("annotation", "returns", "decorator_list", "type_params"):
            continue
        nodes = value if isinstance(value, list) else [value]
        for index, node in enumerate(nodes):
            if not isinstance(node, ast.AST) or _is_silent(node):
                continue
            name = function
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                name = f"{function}.{node.name}" if function else node.name
            yield _Place(node, parent, field, index if isinstance(value, list) else None, name or "module")
            yield from _below(node, name)


def _is_silent(node: ast.AST) -> bool:
    """Whether nothing can go wrong in a node that a test could see."""
    match node:
        case ast.Import() | ast.ImportFrom() | ast.expr_context() | ast.JoinedStr():
            return True
        case ast.Expr(value=ast.Constant()) | ast.Assign(targets=[ast.Name(id="__all__")]):
            return True
        case ast.If(test=ast.Name(id="TYPE_CHECKING")):
            return True
    return False


def _changed(place: _Place) -> list[ast.AST]:
    """What can stand there instead of a node."""
    node = place.node
    found: list[ast.AST] = []
    match node:
        case ast.Compare(ops=[operator]):
            found.append(ast.Compare(node.left, [_COMPARISONS[type(operator)]()], node.comparators))
        case ast.Compare():
            for at, operator in enumerate(node.ops):
                operators = [*node.ops[:at], _COMPARISONS[type(operator)](), *node.ops[at + 1 :]]
                found.append(ast.Compare(node.left, operators, node.comparators))
        case ast.BoolOp():
            found.append(ast.BoolOp(ast.And() if isinstance(node.op, ast.Or) else ast.Or(), node.values))
            found += [
                ast.BoolOp(node.op, rest) if len(rest) > 1 else rest[0]
                for at in range(len(node.values))
                for rest in [[*node.values[:at], *node.values[at + 1 :]]]
            ]
        case ast.BinOp() if type(node.op) in _ARITHMETIC and not _is_text(node):
            found.append(ast.BinOp(node.left, _ARITHMETIC[type(node.op)](), node.right))
        case ast.Constant(value=bool() as value):
            found.append(ast.Constant(not value))
        case ast.Constant(value=int() | float() as value):
            found.append(ast.Constant(value + 1))
        case ast.Constant(value=str() as text) if _is_number(text):
            found.append(ast.Constant(_more(text)))
        case ast.Return(value=ast.expr() as value) if not _is_none(value):
            found.append(ast.Return(ast.Constant(None)))
        case ast.Expr(value=ast.Call() | ast.YieldFrom() | ast.Yield()) | ast.AugAssign() | ast.Raise():
            found.append(ast.Pass())
        case ast.Continue() | ast.Break():
            found.append(ast.Pass())
    if place.field == "test" or (place.field == "ifs" and isinstance(place.parent, ast.comprehension)):
        found.append(
            node.operand
            if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not)
            else ast.UnaryOp(ast.Not(), node)
        )
    # A comparison turned round says the same as its negation.
    return [one for one in found if not (_is_negated(one) and _is_flipped(found))]


def _is_negated(node: ast.AST) -> bool:
    return isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not)


def _is_flipped(found: list[ast.AST]) -> bool:
    first = found[0]
    turned = ast.Eq | ast.NotEq | ast.Is | ast.IsNot | ast.In | ast.NotIn
    return isinstance(first, ast.Compare) and len(first.ops) == 1 and isinstance(first.ops[0], turned)


def _is_text(node: ast.BinOp) -> bool:
    """Whether strings are put together; without a `+` that is an error whatever a test asks."""
    sides = (node.left, node.right)
    return any(
        isinstance(side, ast.JoinedStr) or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in sides
    )


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _is_number(text: str) -> bool:
    return text.replace(".", "", 1).isdigit() and text.isascii()


def _more(text: str) -> str:
    """The number with its last digit changed by one."""
    last = int(text[-1])
    return text[:-1] + str(last + 1 if last < 9 else last - 1)

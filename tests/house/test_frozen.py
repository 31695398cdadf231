"""Records behave as frozen dataclasses do (the library's own are what they are held against)."""

import pickle
from dataclasses import FrozenInstanceError, dataclass

import pytest

from sitelog.frozen import fields_of, is_record, record, replace


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


def test_made_shown_compared_and_hashed_as_a_dataclass() -> None:
    """One by one against the library."""
    for args, named in ((("a",), {}), (("a", 4), {"words": ("x",)}), ((), {"name": "a", "number": 5})):
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
    for wrong in ({}, {"name": "a", "unknown": 1}):
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

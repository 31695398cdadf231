"""What a site's marks say of what its sheets ask: names made equal, marks found by what they are about."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from sitelog.kinds.asked import Asked
from sitelog.kinds.base import Condition
from sitelog.places import group
from sitelog.records import Sheet
from sitelog.records.sheet import STATES
from sitelog.site import Mark

_SYMMETRIC = frozenset({"resistance"})
OVER_TEST_VOLTAGE = 1.25
"""Above this share of the voltage asked, a test may have stressed what it tests (team assumption)."""


class Key(NamedTuple):
    """What a mark or a requirement is about, in small letters and with equal names made one."""

    kind: str
    what: str
    place: str


class Names:
    """Which names mean the same: the `same` lines of the sheets, letter case, and A/B for B/A."""

    def __init__(self, sheets: Iterable[Sheet]) -> None:
        self._same: dict[str, str] = {}
        for sheet in sheets:
            for names in sheet.same:
                first = self._same.get(names[0], names[0])
                self._same.update(dict.fromkeys(names, first))

    def place(self, name: str) -> str:
        """The one name of a place; each side of `A/B` for itself."""
        lower = name.casefold()
        if not self._same:
            return lower
        return "/".join(self._same.get(part, part) for part in lower.split("/"))

    def asked(self, one: Asked) -> Key:
        """What a requirement is about."""
        return Key(one.kind, one.what.casefold(), self.place(one.place))

    def mark(self, mark: Mark) -> Key:
        """What a mark is about."""
        return Key(mark.kind, mark.what.casefold() if mark.kind != "photo" else "", self.place(mark.place))


class Evidence:
    """The live marks of a site by what they are about, in order."""

    def __init__(self, marks: Sequence[Mark], asked: Sequence[Asked], names: Names) -> None:
        self.names = names
        self.asked_keys = {names.asked(one) for one in asked}
        for one in asked:
            if one.kind == "spread":  # a spread asks for the reading at each of its places
                self.asked_keys.update(
                    Key("reading", one.what.casefold(), names.place(each)) for each in one.place.split()
                )
        self.asked = asked
        self._meant: dict[tuple[str, str], dict[str, list[Asked]]] = {}
        self._by_key: dict[Key, list[Mark]] = defaultdict(list)
        for mark in marks:
            self._by_key[self.key(mark)].append(mark)

    def key(self, mark: Mark) -> Key:
        """What a mark is about; a resistance between B and A is that between A and B."""
        key = self.names.mark(mark)
        if key not in self.asked_keys and "/" in key.place and (mark.kind == "dead" or _is_symmetric(mark)):
            turned = key._replace(place="/".join(reversed(key.place.split("/"))))
            if turned in self.asked_keys:
                return turned
        return key

    def of(self, key: Key) -> list[Mark]:
        """The marks about one thing, in order."""
        return self._by_key.get(key, [])

    def meant(self, name: str, one: Asked) -> dict[str, list[Asked]]:
        """What a name in a sheet's line means; remembered."""
        key = name.casefold(), one.sheet
        if key not in self._meant:
            self._meant[key] = meant_by(name, one, self.asked)
        return self._meant[key]

    def keys(self) -> Iterable[Key]:
        """Everything that was marked."""
        return self._by_key.keys()

    def nearest_place(self, key: Key) -> str:
        """The asked place of the same sort that is spelt nearly so."""
        from difflib import get_close_matches

        same_sort = {
            self.names.place(one.place): one.place
            for one in self.asked
            if one.kind == key.kind and one.what.casefold() == key.what and one.place
        }
        turned = "/".join(reversed(key.place.split("/")))
        if turned in same_sort:
            return same_sort[turned]
        close = get_close_matches(key.place, same_sort, 1, 0.6)
        return same_sort[close[0]] if close else ""


def _is_symmetric(mark: Mark) -> bool:
    return mark.value is not None and mark.value.kind in _SYMMETRIC


# ---- conditions ----------------------------------------------------------------------------------------
class Fit(NamedTuple):
    """How a mark's conditions fit those asked: `yes`, `doubtful` or `no`, with the reason in words."""

    answer: str
    why: str = ""


def fit(one: Asked, mark: Mark) -> Fit:
    """Whether a mark counts for a condition that a sheet asks, such as a test voltage."""
    wanted = one.condition
    if wanted is None:
        return Fit("yes")
    same_sort = [condition for condition in mark.conditions if condition.kind == wanted.kind]
    if not same_sort:
        return Fit("doubtful", f"the log does not say at what; {wanted.text} is asked")
    if any(condition.key == wanted.key for condition in same_sort):
        return Fit("yes")
    applied = same_sort[0]
    if wanted.kind == "voltage" and mark.value is not None and mark.value.kind == "resistance":
        return _test_voltage(wanted, applied)
    return Fit("no", f"measured at {applied.text}; {wanted.text} is asked")


def _test_voltage(wanted: Condition, applied: Condition) -> Fit:
    if wanted.base is None or applied.base is None:
        return Fit("no", f"measured at {applied.text}; {wanted.text} is asked")
    if applied.base < wanted.base:
        return Fit("no", f"measured at {applied.text}; {wanted.text} is asked, so it does not count")
    if float(applied.base) > OVER_TEST_VOLTAGE * float(wanted.base):
        return Fit("doubtful", f"measured at {applied.text}, far over the {wanted.text} asked")
    return Fit("yes")


# ---- states --------------------------------------------------------------------------------------------
class States:
    """Which of a pair of states held at a moment: the last entry of the pair decides."""

    def __init__(self, marks: Sequence[Mark], sheets: Iterable[Sheet]) -> None:
        self._opposite: dict[str, str] = {}
        for pair in (*STATES, *(pair for sheet in sheets for pair in sheet.states)):
            self._opposite[pair[0]], self._opposite[pair[1]] = pair[1], pair[0]
        self._marks = [
            mark
            for mark in marks
            if mark.kind in ("step", "state")
            and mark.mode == "final"
            and mark.what.casefold() in self._opposite
        ]

    def last(self, state: str, place: str, before: tuple[int, int, int]) -> Mark | None:
        """The last entry of the state's pair before a moment, at a place where one is meant."""
        pair = {state, self._opposite.get(state, state)}
        found = None
        for mark in self._marks:
            if mark.moment.order >= before:
                break
            if mark.what.casefold() in pair and (not place or mark.place.casefold() == place):
                found = mark
        return found

    def holds(self, state: str, place: str, before: tuple[int, int, int]) -> bool | None:
        """Whether a state holds; None where nothing above speaks of it."""
        state, place = state.casefold(), place.casefold()
        last = self.last(state, place, before)
        if last is None:
            return None
        if last.what.casefold() == state:
            return True
        # A lock is taken off one place and may still be on another.
        if state == "locked" and not place:
            places = {
                mark.place.casefold() for mark in self._marks if mark.moment.order < before and mark.place
            }
            return any(
                (mark := self.last(state, one, before)) is not None and mark.what.casefold() == state
                for one in places
            )
        return False


def meant_by(name: str, one: Asked, asked: Sequence[Asked]) -> dict[str, list[Asked]]:
    """What a name in a sheet's line means: what its own sheet calls so, else what any sheet does."""
    own = members(name, [other for other in asked if other.sheet == one.sheet])
    return own or members(name, asked)


def members(name: str, asked: Iterable[Asked]) -> dict[str, list[Asked]]:
    """What a name in `after`, `before`, `reopens` or a stage can mean: by kind, everything asked of it.

    A step of that name is meant before anything else.
    """
    lower = name.casefold()
    steps: list[Asked] = []
    found: dict[str, list[Asked]] = defaultdict(list)
    for one in asked:
        what, place = one.what.casefold(), one.place.casefold()
        if one.kind == "step":
            if what == lower:
                steps.append(one)
        elif one.kind == "spread":
            continue
        elif one.kind in ("reading", "look", "set", "series", "ref"):
            if what == lower:
                found[one.kind].append(one)
        elif lower in (place, group(place), one.kind if one.kind in ("dead", "photo", "cable") else place):
            found[one.kind].append(one)
    return {"step": steps} if steps else dict(found)

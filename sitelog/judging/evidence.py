"""What a site's marks say of what its sheets ask: names made equal, marks found by what they are about."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from itertools import product

from sitelog.base.frozen import NamedTuple
from sitelog.files.records import Sheet
from sitelog.files.records.sheet import STATES
from sitelog.judging.site import Observation
from sitelog.language.kinds import SHEET
from sitelog.language.kinds.base import Condition, Place
from sitelog.language.kinds.requirement import Requirement
from sitelog.notation.places import compress, group

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeVar

    _Found = TypeVar("_Found")


_SYMMETRIC = frozenset({"resistance"})
_TURNED = frozenset(word for word, row in SHEET.items() if row.symmetric)
_STATES = {"state"} | {word for word, row in SHEET.items() if row.unknown == "step"}
_NAMED_BY_PLACE = frozenset(word for word, row in SHEET.items() if row.called == "kind")
"""Kinds of which `what` is no name that a sheet could ask: the name of a photo's file."""
OVER_TEST_VOLTAGE = 1.25
"""Above this share of the voltage asked, a test may have stressed what it tests (team assumption)."""


class Key(NamedTuple):
    """What a mark or a requirement is about, in small letters and with equal names made one."""

    kind: str
    what: str
    place: str


class SheetNames:
    """Which names mean the same: the `same` lines of the sheets, letter case, and A/B for B/A."""

    def __init__(self, sheets: Iterable[Sheet]) -> None:
        self._same: dict[str, str] = {}
        self._places: dict[str, str] = {}
        self._asked: dict[int, tuple[Requirement, Key]] = {}
        for sheet in sheets:
            for names in sheet.same:
                first = self._same.get(names[0], names[0])
                self._same.update(dict.fromkeys(names, first))

    def place(self, name: str) -> str:
        """The one name of a place; each side of `A/B` for itself."""
        found = self._places.get(name)
        if found is None:
            lower = name.casefold()
            found = "/".join(self._same.get(part, part) for part in lower.split("/")) if self._same else lower
            if len(self._places) >= _MOST:
                self._places.clear()
            self._places[name] = found
        return found

    def spellings(self, name: str) -> tuple[str, ...]:
        """Every other spelling of a place by the `same` lines, in small letters; each side of `A/B` too."""
        if not self._same:
            return ()
        sides = [self._equal(side) for side in name.casefold().split("/")]
        return tuple(spelt for parts in product(*sides) if (spelt := "/".join(parts)) != name.casefold())

    def _equal(self, name: str) -> list[str]:
        first = self._same.get(name, name)
        return sorted({name, *(other for other, same in self._same.items() if same == first)})

    def asked(self, one: Requirement) -> Key:
        """What a requirement is about."""
        known = self._asked.get(id(one))
        if known is not None and known[0] is one:
            return known[1]
        key = Key(one.kind, one.what.casefold(), self.place(one.place))
        if len(self._asked) >= _MOST:
            self._asked.clear()
        self._asked[id(one)] = one, key
        return key

    def observation(self, obs: Observation) -> Key:
        """What a mark is about."""
        return Key(
            obs.kind,
            obs.what.casefold() if obs.kind not in _NAMED_BY_PLACE else "",
            self.place(obs.place),
        )


class SheetRequirements:
    """All that follows from the sheets of a site alone, laid out once for every site that has the same."""

    def __init__(self, sheets: tuple[Sheet, ...]) -> None:
        self.sheets = sheets
        self.names = SheetNames(sheets)
        self.asked = [one for sheet in sheets for one in sheet.requirements]
        self.asked_in_visits = [one for one in self.asked if one.visit or one.every is not None]
        self.asked_once = [id(one) for one in self.asked if not one.visit and one.every is None]
        self.keyed = [(one, self.names.asked(one)) for one in self.asked]
        self.keys = {key for _, key in self.keyed}
        for one in self.asked:
            if SHEET[one.kind].called == "nothing":  # a spread asks for the reading at each of its places
                self.keys.update(
                    Key("reading", one.what.casefold(), self.names.place(each)) for each in one.place.split()
                )
        self.retested = {  # by the sheet's name
            name: {grade for sheet in sheets if sheet.name == name for grade in sheet.retest}
            for name in {sheet.name for sheet in sheets}
        }
        self._names_of: dict[int, tuple[str, ...]] = {}
        self._meant: dict[tuple[str, str], dict[str, list[Requirement]]] = {}
        self._marked: dict[tuple[str, str, str, bool], Key] = {}
        self._once: dict[Callable[[SheetRequirements], Any], Any] = {}

    def once(self, work: Callable[[SheetRequirements], _Found]) -> _Found:
        """What some work finds in the sheets alone, done once for all sites; it may not be changed."""
        if work not in self._once:
            self._once[work] = work(self)
        found: _Found = self._once[work]
        return found

    def key(self, obs: Observation) -> Key:
        """What a mark is about; a resistance between B and A is that between A and B."""
        value = obs.value
        turns = obs.kind in _TURNED or (value is not None and value.kind in _SYMMETRIC)
        about = (obs.kind, obs.what, obs.place, turns)
        key = self._marked.get(about)
        if key is None:
            key = self.names.observation(obs)
            if key not in self.keys and "/" in key.place and turns:
                turned = key._replace(place="/".join(reversed(key.place.split("/"))))
                key = turned if turned in self.keys else key
            if len(self._marked) >= _MOST:
                self._marked.clear()
            self._marked[about] = key
        return key

    def names_of(self, one: Requirement) -> tuple[str, ...]:
        """Every name by which `n/a` can mean a requirement."""
        found = self._names_of.get(id(one))
        if found is None:
            place, what = self.names.place(one.place), one.what.casefold()
            wide = group(place)
            names = dict.fromkeys((place, wide, what, f"{what} {place}".strip(), f"{what} {wide}".strip()))
            found = tuple(name for name in names if name)
            self._names_of[id(one)] = found
        return found

    def excused_by(self, places: Sequence[Place], text: str) -> list[str]:
        """The names that one `n/a` takes out; `places` stand in the entry's `text`.

        A sort and the places behind it are one thing: `insulation dc-pos/earth` is that reading at that
        place, neither all insulation nor everything at the place. A sort that stands alone is all of it.
        """
        sorts = {one.what.casefold() for one in self.asked if one.what and one.place}
        found: list[str] = []
        sort = ""
        for at, place in enumerate(places):
            name = self.names.place(place.name)
            behind = places[at + 1] if at + 1 < len(places) else None
            if name not in sorts:
                found.append(f"{sort} {name}".strip())
            elif behind is None or "," in text[place.end : behind.start] or behind.name.casefold() in sorts:
                found.append(name)
                sort = ""
            else:
                sort = name
        return found

    def meant(self, name: str, one: Requirement) -> dict[str, list[Requirement]]:
        """What a name in a sheet's line means; remembered."""
        key = name.casefold(), one.sheet
        if key not in self._meant:
            self._meant[key] = meant_by(name, one, self.asked)
        return self._meant[key]


_MOST = 20_000
"""Names remembered by the sheets of one site; more are forgotten all at once."""

_MOST_SHEETS = 50
_laid_out: dict[tuple[int, ...], SheetRequirements] = {}


def requirements_of(sheets: tuple[Sheet, ...]) -> SheetRequirements:
    """What some sheets ask, laid out; by the identity of the sheets, which it holds on to."""
    key = tuple([id(sheet) for sheet in sheets])
    found = _laid_out.get(key)
    if found is None:
        if len(_laid_out) >= _MOST_SHEETS:
            _laid_out.clear()
        found = _laid_out[key] = SheetRequirements(sheets)
    return found


class Evidence:
    """The live marks of a site by what they are about, in order."""

    def __init__(self, observations: Sequence[Observation], requirements_of: SheetRequirements) -> None:
        self.names = requirements_of.names
        self.asked_keys = requirements_of.keys
        self.asked = requirements_of.asked
        self.key = requirements_of.key
        self.meant = requirements_of.meant
        self._by_key: dict[Key, list[Observation]] = defaultdict(list)
        for obs in observations:
            self._by_key[self.key(obs)].append(obs)

    def of(self, key: Key) -> list[Observation]:
        """The marks about one thing, in order."""
        return self._by_key.get(key, [])

    def items(self) -> Iterable[tuple[Key, list[Observation]]]:
        """Everything that was marked, with its marks."""
        return self._by_key.items()

    def members(self, key: Key) -> str:
        """The asked places of the same sort that belong to a group: `bracket-1..8` for `bracket`."""
        same = [one.place for one in self.asked if one.kind == key.kind and one.what.casefold() == key.what]
        places = [self.names.place(place) for place in same]
        inside = [place for place, name in zip(same, places, strict=True) if group(name) == key.place != name]
        return compress(dict.fromkeys(inside))

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


# ---- conditions ----------------------------------------------------------------------------------------
class ConditionFit(NamedTuple):
    """How a mark's conditions fit those asked: `yes`, `doubtful` or `no`, with the reason in words."""

    answer: str
    why: str = ""


_UNLIKE = {"yes": 0, "doubtful": 1, "no": 2}


def fit(one: Requirement, obs: Observation) -> ConditionFit:
    """Whether an observation counts for the conditions that a sheet asks, such as a test voltage.

    Evidence: every condition asked is met, by a value that stands for that test alone.
    """
    if one.condition is None:
        return ConditionFit("yes")
    if not one.further:
        return _fit_condition(one.condition, obs)
    fits = [_fit_condition(wanted, obs) for wanted in one.conditions]
    return max(fits, key=lambda how: _UNLIKE[how.answer])


def comparable_key(obs: Observation, asked: Iterable[str] = ()) -> str:
    """Equal for observations of the same test, leaving out conditions of the kinds in `asked`.

    A temperature makes no test of its own: insulation dried and measured a degree warmer is the same test.
    """
    if not obs.conditions:
        return ""
    apart = {*asked, "temperature"}
    return ", ".join(sorted(condition.key for condition in obs.conditions if condition.kind not in apart))


def _fit_condition(wanted: Condition, obs: Observation) -> ConditionFit:
    same_sort = [condition for condition in obs.conditions if condition.kind == wanted.kind]
    if not same_sort:
        return ConditionFit("doubtful", f"the log does not say at what; {wanted.text} is asked")
    if len({condition.key for condition in same_sort}) > 1:
        both = " and ".join(condition.text for condition in same_sort)
        return ConditionFit("doubtful", f"one value stands for {both}; {wanted.text} is asked")
    if any(condition.key == wanted.key for condition in same_sort):
        return ConditionFit("yes")
    applied = same_sort[0]
    if wanted.kind == "voltage" and obs.value is not None and obs.value.kind == "resistance":
        return _test_voltage(wanted, applied)
    return ConditionFit("no", f"measured at {applied.text}; {wanted.text} is asked")


def _test_voltage(wanted: Condition, applied: Condition) -> ConditionFit:
    if wanted.base is None or applied.base is None:
        return ConditionFit("no", f"measured at {applied.text}; {wanted.text} is asked")
    if applied.base < wanted.base:
        return ConditionFit("no", f"measured at {applied.text}; {wanted.text} is asked, so it does not count")
    if float(applied.base) > OVER_TEST_VOLTAGE * float(wanted.base):
        return ConditionFit("doubtful", f"measured at {applied.text}, far over the {wanted.text} asked")
    return ConditionFit("yes")


# ---- states --------------------------------------------------------------------------------------------
_SAFE_ENDS = ("off", "closed", "locked", "isolated", "earthed", "stopped")
"""How the name of the safe one of a pair of states ends."""


def switches_on(step: str) -> bool:
    """Whether a step switches something on, by the last word of its name: `breaker-on`."""
    return step.casefold().rpartition("-")[2] == "on"


class States:
    """Which of a pair of states held at a moment: the last entry of the pair decides.

    A state runs on from visit to visit: the breaker is on until somebody writes that it was switched off.
    """

    def __init__(self, observations: Sequence[Observation], sheets: Iterable[Sheet]) -> None:
        self._opposite: dict[str, str] = {}
        for pair in (*STATES, *(pair for sheet in sheets for pair in sheet.states)):
            self._opposite[pair[0]], self._opposite[pair[1]] = pair[1], pair[0]
        self._marks = [
            obs
            for obs in observations
            if obs.kind in _STATES and obs.mode == "final" and obs.what.casefold() in self._opposite
        ]
        self._steps = [obs for obs in observations if obs.kind in _STATES and obs.mode == "final"]

    def makes_safe(self, step: str) -> bool:
        """Whether a step makes safe: the safe one of a pair, or one that ends in `-off`: `inverter-off`."""
        step = step.casefold()
        in_pair = step in self._opposite and step.rpartition("-")[2] in _SAFE_ENDS
        return in_pair or step.endswith("-off")

    def switched_on(self, start: tuple[int, int, int], end: tuple[int, int, int]) -> bool:
        """Whether something was switched on between two moments, or the last lock was taken off."""
        return any(
            switches_on(obs.what)
            or (obs.what.casefold() == "unlocked" and not self.holds("locked", "", _after(obs)))
            for obs in self._steps
            if start < obs.moment.order < end
        )

    def doubtful(self, state: str, beside: Observation) -> list[Observation]:
        """The entries of the state's pair, of the same day, that stand at a time that runs backwards."""
        pair = {state.casefold(), self._opposite.get(state.casefold(), state.casefold())}
        return [
            obs
            for obs in self._marks
            if obs.moment.backwards and obs.moment.day == beside.moment.day and obs.what.casefold() in pair
        ]

    def opposite(self, state: str) -> str:
        """The other state of the pair, `breaker-on` for `breaker-off`; empty where there is none."""
        return self._opposite.get(state, "")

    def last(self, state: str, place: str, before: tuple[int, int, int]) -> Observation | None:
        """The last entry of the state's pair before a moment, at a place where one is meant."""
        pair = {state, self._opposite.get(state, state)}
        found = None
        for obs in self._marks:
            if obs.moment.order >= before:
                break
            if obs.what.casefold() in pair and (not place or obs.place.casefold() == place):
                found = obs
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
            places = {obs.place.casefold() for obs in self._marks if obs.moment.order < before and obs.place}
            return any(
                (obs := self.last(state, one, before)) is not None and obs.what.casefold() == state
                for one in places
            )
        return False


def _after(obs: Observation) -> tuple[int, int, int]:
    """The order of the moment right after an entry."""
    day, seconds, sequence = obs.moment.order
    return day, seconds, sequence + 1


def meant_by(name: str, one: Requirement, asked: Sequence[Requirement]) -> dict[str, list[Requirement]]:
    """What a name in a sheet's line means: what its own sheet calls so, else what any sheet does."""
    own = members(name, [other for other in asked if other.sheet == one.sheet])
    return own or members(name, asked)


def members(name: str, asked: Iterable[Requirement]) -> dict[str, list[Requirement]]:
    """What a name in `after`, `before`, `reopens` or a stage can mean: by kind, everything asked of it.

    A step of that name is meant before anything else.
    """
    lower = name.casefold()
    steps: list[Requirement] = []
    found: dict[str, list[Requirement]] = defaultdict(list)
    for one in asked:
        what, place = one.what.casefold(), one.place.casefold()
        row = SHEET[one.kind]
        if row.called == "what":
            if what == lower:
                (steps if row.unknown == "step" else found[one.kind]).append(one)
        elif row.called != "nothing" and (
            lower in (place, group(place)) or (row.called == "kind" and lower == one.kind)
        ):
            found[one.kind].append(one)
    return {steps[0].kind: steps} if steps else dict(found)

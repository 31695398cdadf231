"""Order, waits and states: whether something was done when it could be done."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.base.verdicts import Reason
from sitelog.judging.case import Case
from sitelog.judging.evidence import Key, switches_on
from sitelog.judging.site import Moment, Observation
from sitelog.judging.site.zones import instants
from sitelog.judging.standing import Standing
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.kinds.step import Did
from sitelog.notation.places import compress
from sitelog.notation.quantities import Quantity, format_quantity


class Order:
    """Order, waits and states of one site.

    An act that makes safe (`breaker-off`, `cover-closed`, a dead test) counts at once and is never out of
    order; what was to come before it is asked of the next switching on. All else is held against what stood
    at its own moment.
    """

    def __init__(self, case: Case) -> None:
        self._case = case
        self._standing = Standing(case)

    def reasons(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        """Every reason why an observation came out of order, too soon or in the wrong state."""
        owed = self._owed(requirement, obs) if _switches_on(requirement) else []
        if not (requirement.after or requirement.before or requirement.states or requirement.wait):
            return owed
        if (before := self._standing.asked_before(requirement, obs)) is not None:
            return self.reasons(requirement, before)
        if self._case.makes_safe(requirement):
            return owed
        return [
            *(self._after(requirement, obs) if requirement.after else ()),
            *owed,
            *(self._before(requirement, obs) if requirement.before else ()),
            *(self.while_(requirement, obs) if requirement.states else ()),
            *(self._wait(requirement, obs) if requirement.wait is not None else ()),
            *(self._backwards(requirement, obs)),
        ]

    # ---- after and before ----------------------------------------------------------------------------
    def _after(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        found: list[Reason] = []
        for name in requirement.after:
            if row_of(requirement.kind).symmetric and not self._case.states.makes_safe(name):
                continue  # a dead test makes safe: it only has to follow what it proves, the switching off
            if self._means_nothing(name, requirement):
                message = f"{requirement.name} comes after `{name}`, and nothing that is asked is called so"
                found.append(Reason("doubtful", "doubtful", message, "mend the sheet"))
            lacking = self._lacking(requirement, name, obs.moment)
            if lacking:
                help = "do it again in the right order" if row_of(requirement.kind).unknown == "step" else ""
                found.append(_out_of_order(f"{requirement.name} came before {_called(name, lacking)}", help))
        return found

    def _means_nothing(self, name: str, requirement: Requirement) -> bool:
        """Whether a name behind `after` is that of nothing asked and of nothing done: its order is unknown.

        The line that asks it may be one that can't be read.
        """
        case = self._case
        done = Key("step", name.casefold(), "")
        return not case.evidence.meant(name, requirement) and not case.evidence.of(done)

    def _lacking(self, requirement: Requirement, name: str, moment: Moment) -> list[Requirement]:
        """What a name behind `after` means and was not met at a moment."""
        return [
            other
            for others in self._case.evidence.meant(name, requirement).values()
            for other in others
            if not self._is_met(requirement, other, moment)
        ]

    def _is_met(self, requirement: Requirement, other: Requirement, moment: Moment) -> bool:
        """Whether what stands behind `after` was met.

        A step of an earlier visit serves no step that this visit asks, and no wait: what was switched on last
        year says nothing of today.
        """
        if not self._standing.is_met(other, moment):
            return False
        is_timed = requirement.wait is not None or self._case.is_asked_in(requirement, moment.visit)
        if row_of(other.kind).unknown != "step" or not is_timed or self._case.is_excused(other):
            return True
        return any(
            earlier.live and earlier.moment.visit == moment.visit and earlier.moment.order < moment.order
            for earlier in self._case.evidence.of(self._case.names.asked(other))
        )

    def _owed(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        """What acts that made safe were to come after, and what is still not met when it is switched on.

        What can itself only be done after this switching on is not asked.
        """
        found: list[Reason] = []
        for safe in self._case.safe_acts:
            if not self._case.is_asked_in(safe, obs.moment.visit):
                continue
            last = self._last(safe, obs)
            if last is None or last.moment.visit != obs.moment.visit:
                continue
            for name, others in self._comes_before(safe):
                lacking = [
                    other
                    for other in others
                    if not self._standing.is_met(other, obs.moment)
                    and other is not requirement
                    and not self._needs(other, requirement)
                ]
                if lacking:
                    message = (
                        f"{requirement.name} came before {_called(name, lacking)},"
                        f" which {safe.name} in line {last.line} was to come after"
                    )
                    found.append(_out_of_order(message, "do it again in the right order"))
        return found

    def _comes_before(self, safe: Requirement) -> list[tuple[str, list[Requirement]]]:
        """What an act that makes safe was to come after, by the names in the sheets."""
        return [
            (name, [other for others in self._case.evidence.meant(name, safe).values() for other in others])
            for name in safe.after
        ]

    def _needs(self, requirement: Requirement, switching: Requirement) -> bool:
        """Whether a requirement can only be met after a switching on, or in the state that it makes."""
        todo, seen = [requirement], {id(requirement)}
        while todo:
            each = todo.pop()
            if any(state.casefold() == switching.what.casefold() for state, _ in each.states):
                return True
            for name in each.after:
                for others in self._case.evidence.meant(name, each).values():
                    for other in others:
                        if other is switching:
                            return True
                        if id(other) not in seen:
                            seen.add(id(other))
                            todo.append(other)
        return False

    def _last(self, requirement: Requirement, before: Observation) -> Observation | None:
        earlier = [
            obs
            for obs in self._case.evidence.of(self._case.names.asked(requirement))
            if obs.live and obs.moment.order < before.moment.order
        ]
        return earlier[-1] if earlier else None

    def _before(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        """`before X`: what stood of the requirement when X was done first in the visit."""
        found: list[Reason] = []
        for name in requirement.before:
            for others in self._case.evidence.meant(name, requirement).values():
                first = self._first(
                    [other for other in others if not self._case.makes_safe(other)], obs.moment.visit
                )
                if first is not None and not self._standing.is_met(requirement, first.moment):
                    message = f"{name} was done before {requirement.name} had passed"
                    found.append(_out_of_order(message))
                    break
        return found

    def _first(self, others: Sequence[Requirement], visit: int) -> Observation | None:
        observations = [
            obs
            for other in others
            for obs in self._case.evidence.of(self._case.names.asked(other))
            if obs.live and (obs.moment.visit == visit or not self._case.is_asked_in(other, visit))
        ]
        return min(observations, key=lambda obs: obs.moment.order, default=None)

    # ---- times that run backwards --------------------------------------------------------------------
    def _backwards(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        """A doubt where a time runs backwards, of the observation or of what it is held against.

        Nobody knows then what came first: its time or its place in the log is wrong.
        """
        unsure = [obs] if obs.moment.backwards else []
        for name in (*requirement.after, *requirement.before):
            for others in self._case.evidence.meant(name, requirement).values():
                unsure += [
                    each
                    for other in others
                    for each in self._case.evidence.of(self._case.names.asked(other))
                    if each.moment.backwards and each.moment.day == obs.moment.day
                ]
        unsure += [each for state, _ in requirement.states for each in self._case.states.doubtful(state, obs)]
        if not unsure:
            return []
        line = unsure[0].line
        message = (
            f"{requirement.name}: the time in line {line} runs backwards, so nobody knows what came first"
        )
        return [Reason("doubtful", "wait-uncertain", message, "see which of the times is wrong")]

    # ---- states --------------------------------------------------------------------------------------
    def while_(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        """`while breaker-off, locked q1`: the last entry of each pair decides."""
        found: list[Reason] = []
        if row_of(requirement.kind).judged == "serial" and obs.mode == "final":
            return found  # a part that is put up for the first time opens nothing; a swap does
        for state, place in requirement.states:
            name = f"{state} {place}".strip()
            holds = self._case.states.holds(state, place, obs.moment.order)
            if holds is None:
                message = f"{requirement.name} is asked while {name}, and nothing above says so"
                found.append(_out_of_order(message, "stop and make safe first"))
            elif not holds:
                last = self._case.states.last(state.casefold(), place.casefold(), obs.moment.order)
                since = f" ({last.what} in line {last.line})" if last is not None else ""
                message = f"{requirement.name} is asked while {name}, and it was not{since}"
                found.append(_out_of_order(message, "stop and make safe first"))
        return found

    # ---- waits ---------------------------------------------------------------------------------------
    def _wait(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        if requirement.wait is None:
            return []
        stated = _stated(obs)
        start = self._start(requirement, obs)
        shortest, longest = _between(start.moment, obs.moment) if start is not None else (None, None)
        after = f"after {', '.join(requirement.after)}" if requirement.after else "before the test"
        wanted = format_quantity(requirement.wait)
        seconds = float(requirement.wait.base)
        if any(each is not None and each.moment.backwards for each in (start, obs)):
            return []  # a doubt of its own
        if stated is not None:
            if stated.base < requirement.wait.base:
                message = (
                    f"{requirement.name}: waited {format_quantity(stated)}, and {wanted} {after} is asked"
                )
                return [Reason("too-soon", "too-soon", message, "wait, do it again and write it down again")]
            if longest is not None and longest + 1 < float(stated.base):  # clocks drop part of a second
                wait = f"{format_quantity(stated)} of waiting"
                message = f"{requirement.name}: {wait} do not fit between the times written"
                return [Reason("doubtful", "wait-uncertain", message, "see which of the times is wrong")]
            return []
        if shortest is not None and longest is not None:
            if shortest >= seconds:
                return []
            clock = obs.moment.clock
            within = clock is not None and clock.grain > 1  # a minute's end belongs to the next one
            if longest < seconds or (longest == seconds and within):
                most = f"{'less than' if within else 'at most'} {longest:g} s"
                message = f"{requirement.name}: {most} went by, and {wanted} {after} is asked"
                return [Reason("too-soon", "too-soon", message, "wait, do it again and write it down again")]
        message = f"{requirement.name}: the times do not show whether {wanted} went by {after}"
        word = "waited" if isinstance(obs.record, Did) else "after"
        return [Reason("doubtful", "wait-uncertain", message, f"write the wait itself: `{word} {wanted}`")]

    def _start(self, requirement: Requirement, obs: Observation) -> Observation | None:
        """The last entry of the same visit that the wait counts from."""
        if not requirement.after:
            # A dead test waits from when the supply went off.
            for state in ("breaker-off", "locked"):
                last = self._case.states.last(state, "", obs.moment.order)
                if last is not None and last.what.casefold() == state:
                    return last if last.moment.visit == obs.moment.visit else None
            return None
        found: Observation | None = None
        for name in requirement.after:
            for others in self._case.evidence.meant(name, requirement).values():
                for other in others:
                    for earlier in self._case.evidence.of(self._case.names.asked(other)):
                        later = found is None or earlier.moment.order > found.moment.order
                        is_earlier = earlier.live and earlier.moment.order < obs.moment.order
                        if is_earlier and later and earlier.moment.visit == obs.moment.visit:
                            found = earlier
        return found


def _switches_on(requirement: Requirement) -> bool:
    return row_of(requirement.kind).unknown == "step" and switches_on(requirement.what)


def _called(name: str, lacking: Sequence[Requirement]) -> str:
    """The one step that is lacking by its name, else all that is, with what should have been."""
    is_step = len(lacking) == 1 and row_of(lacking[0].kind).unknown == "step"
    return name if is_step else _listed(lacking)


def _out_of_order(message: str, help: str = "") -> Reason:
    return Reason("out-of-order", "out-of-order", message, help)


def _stated(obs: Observation) -> Quantity | None:
    record = obs.record
    if isinstance(record, Did):
        return record.waited
    return record.after if isinstance(record, Reading) else None


def _between(start: Moment, end: Moment) -> tuple[float | None, float | None]:
    """The shortest and the longest time in seconds between two moments; None where one has no time.

    A time without seconds stands for any moment of its minute. Times of day are those of the zone
    where one is named, so a clock change between them counts; a time that came twice that night is either.
    """
    if start.clock is None or end.clock is None or start.day is None or end.day is None:
        return None, None
    between = [
        (last - first).total_seconds()
        for first in instants(start.day, start.clock.seconds, start.zone)
        for last in instants(end.day, end.clock.seconds, end.zone)
    ]
    forward = [seconds for seconds in between if seconds >= 0] or between
    # A time without seconds is any moment of its minute; one with seconds is that second.
    early, late = (clock.grain if clock.grain > 1 else 0 for clock in (start.clock, end.clock))
    return min(forward) - early, max(forward) + late


def _listed(lacking: Sequence[Requirement]) -> str:
    """`joint clamp-5..6 was right`, at most three kinds by name."""
    places: dict[tuple[str, str], list[str]] = {}
    for requirement in lacking:
        places.setdefault((requirement.kind, requirement.what), []).append(requirement.place)
    names = [
        " ".join(filter(None, ("" if what else kind, what, compress(some))))
        for (kind, what), some in places.items()
    ]
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return ", ".join(names[:3]) + more + (" was right" if len(lacking) == 1 else " were right")

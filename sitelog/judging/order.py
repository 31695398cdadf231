"""Order, waits and states: whether something was done when it could be done."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.base.verdicts import Reason
from sitelog.judging.case import Case
from sitelog.judging.evidence import fit
from sitelog.judging.rule import RuleContext
from sitelog.judging.site import Moment, Observation
from sitelog.judging.site.zones import instants
from sitelog.judging.values import is_good
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.kinds.step import Did
from sitelog.notation.places import compress
from sitelog.notation.quantities import Quantity, format_quantity


class Order:
    """Order, waits and states of one site."""

    def __init__(self, case: Case) -> None:
        self._case = case
        self._contexts: dict[str, RuleContext] = {}  # by the name of the sheet

    def reasons(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        """Every reason why an observation came out of order, too soon or in the wrong state."""
        if not (requirement.after or requirement.before or requirement.states or requirement.wait):
            return []
        return [
            *(self._after(requirement, obs) if requirement.after else ()),
            *(self._before(requirement, obs) if requirement.before else ()),
            *(self.while_(requirement, obs) if requirement.states else ()),
            *(self._wait(requirement, obs) if requirement.wait is not None else ()),
        ]

    # ---- after and before ----------------------------------------------------------------------------
    def _earlier(self, other: Requirement, moment: Moment) -> bool:
        """Whether a requirement had been met before a moment."""
        if self._case.is_excused(other):
            return True
        if (
            row_of(other.kind).judged == "serial"
            and self._case.nonconformity_of(other, moment.order) is not None
        ):
            return False
        own_visit = self._case.is_asked_in(other, moment.visit)
        again = self._case.evidence_counts_from(other, moment.order)
        for obs in self._case.evidence.of(self._case.names.asked(other)):
            if (
                (obs.live or (obs.mode == "held" and other.every is not None))
                and again < obs.moment.order < moment.order
                and (not own_visit or obs.moment.visit == moment.visit)
                and self._is_met_by(other, obs)
            ):
                return True
        return False

    def _is_met_by(self, requirement: Requirement, obs: Observation) -> bool:
        """Whether an observation was made as asked, and is good as far as its value goes."""
        if requirement.condition is not None and fit(requirement, obs).answer == "no":
            return False
        return is_good(requirement, obs, self._context(requirement))

    def _context(self, requirement: Requirement) -> RuleContext:
        context = self._contexts.get(requirement.sheet)
        if context is None:
            case = self._case
            context = RuleContext(
                case.box, case.guard(requirement), case.device, case.previous, case.trial, case.day_above
            )
            self._contexts[requirement.sheet] = context
        return context

    def _after(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        found: list[Reason] = []
        for name in requirement.after:
            groups = self._case.evidence.meant(name, requirement)
            lacking = [
                other
                for others in groups.values()
                for other in others
                if not self._earlier(other, obs.moment)
            ]
            if lacking:
                what = (
                    name
                    if len(lacking) == 1 and row_of(lacking[0].kind).unknown == "step"
                    else _listed(lacking)
                )
                help = "do it again in the right order" if row_of(requirement.kind).unknown == "step" else ""
                found.append(_out_of_order(f"{requirement.name} came before {what}", help))
        return found

    def _before(self, requirement: Requirement, obs: Observation) -> list[Reason]:
        found: list[Reason] = []
        for name in requirement.before:
            for others in self._case.evidence.meant(name, requirement).values():
                first = self._first(others, obs.moment.visit)
                if first is not None and not self._earlier(requirement, first.moment):
                    found.append(
                        Reason(
                            "out-of-order",
                            "out-of-order",
                            f"{name} was done before {requirement.name} had passed",
                        )
                    )
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
        """The last entry that the wait counts from."""
        if not requirement.after:
            # A dead test waits from when the supply went off.
            for state in ("breaker-off", "locked"):
                last = self._case.states.last(state, "", obs.moment.order)
                if last is not None and last.what.casefold() == state:
                    return last
            return None
        found: Observation | None = None
        for name in requirement.after:
            for others in self._case.evidence.meant(name, requirement).values():
                for other in others:
                    for earlier in self._case.evidence.of(self._case.names.asked(other)):
                        later = found is None or earlier.moment.order > found.moment.order
                        if earlier.live and earlier.moment.order < obs.moment.order and later:
                            found = earlier
        return found


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

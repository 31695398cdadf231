"""What one site is judged from: its observations by what they are about, and what bears on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from sitelog.files.records import Sheet
from sitelog.judging.calibration import months_later
from sitelog.judging.defects import Nonconformity, nonconformities
from sitelog.judging.evidence import Evidence, Key, States, requirements_of, switches_on
from sitelog.judging.placements import part_changes, placements_of, swapped
from sitelog.judging.rule import RuleContext
from sitelog.judging.site import INSTALL, Observation, SiteLog, VisitPeriod
from sitelog.judging.tools import Toolbox, instrument_of
from sitelog.judging.values import is_good
from sitelog.language.kinds.electric import Device
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.paper import NotApplicable
from sitelog.language.kinds.requirement import Requirement
from sitelog.notation.places import expand, group
from sitelog.notation.quantities import Problem

TYPE_CHECKING = False
if TYPE_CHECKING:  # not loaded where no log holds a trial
    from sitelog.files.trials.results import Trial, TrialFault

    # What the files of the `series` entries gave, by the entry's file and line.
    Trials = Mapping[tuple[str, int], Trial | TrialFault]

REMOVAL = "removal"
_BARS = frozenset({"major", "danger"})
"""The grades of a defect with which a part cannot stand as it is."""


class Case:
    """What one site is judged from: its log, its tools, what its sheets ask, and in which visits they ask it.

    It only looks things up and is never changed once made. It refers to nothing that refers back to it, so
    that its memory is free as soon as nobody holds it.
    """

    def __init__(self, log: SiteLog, box: Toolbox, today: date, trials: Trials | None = None) -> None:
        self.log = log
        self.box = box
        self.today = today
        self.trials: Trials = trials or {}
        self.sheets: tuple[Sheet, ...] = log.sheets
        self.guards = {sheet.name: sheet.guard or 0.0 for sheet in log.sheets}
        self.by_sheets = requirements_of(log.sheets)
        self.requirements = self.by_sheets.asked
        self.names = self.by_sheets.names
        self.observations = swapped(log.live_marks(), self.names.place)
        self.placements, self.placement_findings = placements_of(self.observations, self.names.place)
        self.impossible = {(wrong.file, wrong.line, wrong.column): wrong for wrong in self.placement_findings}
        self.evidence = Evidence(self.observations, self.by_sheets)
        self.states = States(self.observations, log.sheets)
        self.safe_acts = [requirement for requirement in self.requirements if self.makes_safe(requirement)]
        self.misdated = {
            (wrong.file, wrong.line) for wrong in log.findings if wrong.slug == "dated-after-signature"
        }
        self.excused = self._excused()
        self.nonconformities, self.nonconformity_findings = nonconformities(log)
        self.reopenings = self._reopenings()
        self._changes, self.away = part_changes(self.observations, self.names.place, self.is_dismantling)
        self.closed = self._closed()
        self._install = [visit for visit in log.visits if visit.purpose == INSTALL][:1]
        # Most is asked once, at the install; the others each in visits of their own.
        self.visits: dict[int, list[VisitPeriod]] = dict.fromkeys(self.by_sheets.asked_once, self._install)
        self.visits |= {
            id(requirement): self._asking_visits(requirement)
            for requirement in self.by_sheets.asked_in_visits
        }

    # ---- what bears on a requirement -----------------------------------------------------------------
    def device(self, name: str) -> Device | None:
        """The protective device that the log gives for a place; the newest of several."""
        place = self.names.place(name)
        change = self._changes.get(place, [None])[-1]
        observations = [
            obs
            for obs in self.evidence.of(Key("device", "", place))
            if change is None or obs.moment.order > change.moment.order
        ]
        record = observations[-1].record if observations else None
        return record if isinstance(record, Device) else None

    def guard(self, requirement: Requirement | None) -> float:
        """The probability from 0 to 1 with which a sheet wants its limits kept; 0 where none is asked."""
        return self.guards.get(requirement.sheet, 0.0) if requirement is not None else 0.0

    def makes_safe(self, requirement: Requirement) -> bool:
        """Whether a requirement is a step that makes safe, such as `breaker-off`; see `States.makes_safe`.

        A cover that is closed or a lock is only taken so where a switching on is asked as well, of which the
        order can be asked instead.
        """
        if row_of(requirement.kind).unknown != "step" or not self.states.makes_safe(requirement.what):
            return False
        return requirement.what.casefold().endswith("-off") or any(
            row_of(other.kind).unknown == "step" and switches_on(other.what) for other in self.requirements
        )

    def is_traced(self, obs: Observation) -> bool:
        """Whether nothing speaks against the instrument of an observation: calibrated, or proved."""
        return not instrument_of(obs, self.box).reasons

    def is_excused(self, requirement: Requirement) -> bool:
        """Whether a lead took it out of the missing, with a reason."""
        return self.excuse_of(requirement) is not None

    def excuse_of(self, requirement: Requirement) -> NotApplicable | None:
        """The entry by which a lead took a requirement out of the missing; None where there is none."""
        if not self.excused:
            return None
        names = self.by_sheets.names_of(requirement)
        return next((self.excused[name] for name in names if name in self.excused), None)

    def is_asked_in(self, requirement: Requirement, visit: int) -> bool:
        """Whether a visit, by its index, asks a requirement anew."""
        return any(asking.index == visit for asking in self.visits[id(requirement)])

    def is_dismantling(self, obs: Observation) -> bool:
        """Whether an observation belongs to a removal, which asks for nothing to be done again."""
        return self.log.visits[obs.moment.visit].purpose == REMOVAL

    def part_changed(
        self, requirement: Requirement, before: tuple[int, int, int] | None = None
    ) -> Observation | None:
        """The last swap or removal at the place of a requirement, or at an end of `A/B`; None without one.

        What was measured of a part, seen on it or registered holds for the serial that sat there: evidence
        counts from this change on. What was written above the first serial of a place holds for that serial.
        `before` is the order of a moment; without it, the whole log counts. A hole and a cable stay when
        the part at their place goes, and a serial is the part itself.
        """
        row = row_of(requirement.kind)
        if not self._changes or row.outlasts_parts or row.judged == "serial":
            return None
        return self._changed(requirement.place, before)

    def _changed(self, place: str, before: tuple[int, int, int] | None) -> Observation | None:
        found: Observation | None = None
        name = self.names.place(place)
        for end in dict.fromkeys((name, *name.split("/"))):
            for change in self._changes.get(end, ()):
                is_earlier = before is None or change.moment.order < before
                if is_earlier and (found is None or found.moment.order < change.moment.order):
                    found = change
        return found

    def of_same_part(self, observations: Sequence[Observation], place: str) -> Sequence[Observation]:
        """Those observations that hold for the part that sits at a place now."""
        change = self._changed(place, None) if self._changes else None
        if change is None:
            return observations
        return [obs for obs in observations if obs.moment.order > change.moment.order]

    def trial(self, obs: Observation) -> Trial | TrialFault | None:
        """What the file of an entry gave, or what is wrong with it; None where nothing was read."""
        return self.trials.get((obs.file, obs.line))

    def day_above(self, obs: Observation) -> date | None:
        """The day of the entry above an observation's in the same visit; None where there is none."""
        before = [
            other.moment
            for other in self.observations
            if other.moment.visit == obs.moment.visit and other.moment.order < obs.moment.order
        ]
        return max(before, key=lambda moment: moment.order).day if before else None

    def nonconformity_of(
        self, requirement: Requirement, at: tuple[int, int, int] | None = None
    ) -> Nonconformity | None:
        """The major defect or the danger of a requirement's place; a swap takes it away.

        `at` is the order of a moment; without it, what is open at the end of the log.
        """
        if not self.nonconformities:
            return None
        place = self.names.place(requirement.place)
        swaps = [
            obs.moment.order for obs in self.evidence.of(self.names.asked(requirement)) if obs.mode == "swap"
        ]
        for defect in self.nonconformities:
            found = defect.since.context.moment.order
            gone = defect.cleared.context.moment.order if defect.cleared is not None else None
            if (
                defect.grade in _BARS
                and self._is_at(defect, {place})
                and (at is None or found < at)
                and (gone is None or (at is not None and gone > at))
                and not any(found < swap and (at is None or swap < at) for swap in swaps)
            ):
                return defect
        return None

    def evidence_counts_from(
        self, requirement: Requirement, before: tuple[int, int, int]
    ) -> tuple[int, int, int]:
        """The order of the moment after which evidence counted, as it stood at the moment `before`.

        It is that of the defect after which a sheet wants its place tested again, or that of the swap or
        removal by which another part came to sit there. What was done since the defect was found counts:
        people put right, test, and clear.
        """
        grades = self.by_sheets.retested.get(requirement.sheet)
        change = self.part_changed(requirement, before)
        start = change.moment.order if change is not None else (-1, 0, 0)
        if not grades or not self.nonconformities:
            return start
        places = self._ends_of(requirement)
        for defect in self.nonconformities:
            found = defect.since.context.moment.order
            if defect.grade in grades and found < before and self._is_at(defect, places):
                start = max(start, found)
        return start

    def retest_after(self, requirement: Requirement, obs: Observation) -> Nonconformity | None:
        """The defect of this place, found after an observation, after which a sheet wants it tested again."""
        grades = self.by_sheets.retested.get(requirement.sheet)
        if not grades or not self.nonconformities:
            return None
        places = self._ends_of(requirement)
        for defect in self.nonconformities:
            since = defect.since.context.moment.order
            if defect.grade in grades and self._is_at(defect, places) and obs.moment.order < since:
                return defect
        return None

    def _is_at(self, defect: Nonconformity, places: set[str]) -> bool:
        """Whether a defect was found at one of some places, or at all of a group or a range.

        One without a place is nowhere.
        """
        if not defect.place:
            return False
        named = expand(defect.place)
        found = {
            self.names.place(name) for name in ((defect.place,) if isinstance(named, Problem) else named)
        }
        return not found.isdisjoint(places) or not found.isdisjoint(map(group, places))

    def _ends_of(self, requirement: Requirement) -> set[str]:
        """The one name of its place, and of each end of `A/B`."""
        place = self.names.place(requirement.place)
        return {place, *place.split("/")}

    def _closed(self) -> bool:
        """Whether the last visit took every part away and is signed: then the site asks for nothing more."""
        last = self.log.visits[-1]
        if last.purpose != REMOVAL or last.signed is None or not self.away:
            return False
        gone = self.away.keys() | self.excused.keys()
        asked = {
            self.names.place(requirement.place)
            for requirement in self.requirements
            if row_of(requirement.kind).judged == "serial"
        }
        return asked <= gone and all(placement.until is not None for placement in self.placements)

    def _excused(self) -> dict[str, NotApplicable]:
        """The names that a lead took out of the missing, with a reason."""
        found: dict[str, NotApplicable] = {}
        for entry in self.log.of(NotApplicable):
            record = entry.record
            if isinstance(record, NotApplicable) and not self.log.is_struck(entry):
                who = self.log.crew.get(entry.context.by.casefold())
                if who is not None and who.role == "lead" and entry.entry.remark:
                    names = self.by_sheets.excused_by(record.places, entry.entry.text)
                    found.update(dict.fromkeys(names, record))
        return found

    def _reopenings(self) -> list[tuple[set[int], list[Observation]]]:
        """The swaps and removals that reopen something, each with the identities of what they reopen."""
        found: list[tuple[set[int], list[Observation]]] = []
        for part in self.requirements:
            if not part.reopens:
                continue
            observations = [
                obs for obs in self.evidence.of(self.names.asked(part)) if obs.mode in ("swap", "removed")
            ]
            if observations:
                reopened = [
                    others for name in part.reopens for others in self.evidence.meant(name, part).values()
                ]
                found.append(({id(other) for others in reopened for other in others}, observations))
        return found

    # ---- visits --------------------------------------------------------------------------------------
    def _asking_visits(self, requirement: Requirement) -> list[VisitPeriod]:
        """The visits that ask a requirement anew; what stands in between serves the one before."""
        visits = self.log.visits
        if requirement.visit or requirement.every is None:
            return [visit for visit in visits if visit.purpose == requirement.visit]
        found = list(self._install)
        for visit in visits:
            if visit.purpose in (INSTALL, REMOVAL) or visit.day is None:
                continue
            due = self.due_after(requirement, visit.index)
            if due is None or due <= visit.day:
                found.append(visit)
        return found

    def rule_context(self, requirement: Requirement) -> RuleContext:
        """What the rules may look at beside a requirement and what was observed."""
        return RuleContext(
            self.box, self.guard(requirement), self.device, self.previous, self.trial, self.day_above
        )

    def due_after(self, requirement: Requirement, visit: int) -> date | None:
        """The day on which what `every` asks was due by all that is good in the visits before one.

        It needs an observation of the part that sits there now which is good by its value; None without one.
        """
        if requirement.every is None:
            return None
        change = self.part_changed(requirement)
        context = RuleContext(
            self.box, self.guard(requirement), self.device, trial=self.trial, day_above=self.day_above
        )
        days = [
            obs.moment.day
            for obs in self.evidence.of(self.names.asked(requirement))
            if obs.moment.visit < visit
            and obs.moment.day is not None
            and (obs.live or obs.mode == "held")
            and (change is None or change.moment.order < obs.moment.order)
            and is_good(requirement, obs, context)
        ]
        last = max(days, default=None)
        return None if last is None else later(last, requirement.every.months, requirement.every.days)

    def previous(self, requirement: Requirement, obs: Observation) -> Observation | None:
        """The value before this observation, of an earlier visit too, under the same conditions."""
        observations = self.evidence.of(self.names.asked(requirement))
        if len(observations) < 2 or observations[0] is obs:
            return None
        change = self.part_changed(requirement, obs.moment.order)
        earlier = [
            other
            for other in observations
            if other.live
            and (change is None or change.moment.order < other.moment.order)
            and other.moment.order < obs.moment.order
            and other.condition_key == obs.condition_key
        ]
        return earlier[-1] if earlier else None


def later(day: date, months: int, days: int) -> date:
    """The day that lies so many months and then so many days later."""
    return months_later(day, months) + timedelta(days=days)

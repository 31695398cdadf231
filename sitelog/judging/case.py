"""One site laid out for judging: its marks by what they are about, and what surrounds them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from sitelog.files.records import Sheet
from sitelog.judging.calibration import months_later
from sitelog.judging.defects import Nonconformity, nonconformities
from sitelog.judging.evidence import Evidence, Key, States, requirements_of
from sitelog.judging.parts import stays, swapped
from sitelog.judging.site import INSTALL, Observation, SiteLog, VisitPeriod
from sitelog.judging.tools import Toolbox
from sitelog.language.kinds.electric import Device
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.paper import NotApplicable
from sitelog.language.kinds.requirement import Requirement

TYPE_CHECKING = False
if TYPE_CHECKING:  # not loaded where no log holds a trial
    from sitelog.files.trials.results import Trial, Trouble

    # What the files of the `series` entries gave, by the entry's file and line.
    Trials = Mapping[tuple[str, int], Trial | Trouble]

REMOVAL = "removal"
_BARS = frozenset({"major", "danger"})
"""The grades of a defect with which a part cannot stand as it is."""


class Case:
    """What the judge looks at: the log, the tools, what the sheets ask, and in which visits they ask it."""

    def __init__(self, site: SiteLog, box: Toolbox, today: date, trials: Trials | None = None) -> None:
        self.site = site
        self.box = box
        self.today = today
        self.trials: Trials = trials or {}
        self.sheets: tuple[Sheet, ...] = site.sheets
        self.guards = {sheet.name: sheet.guard or 0.0 for sheet in site.sheets}
        self.by_sheets = requirements_of(site.sheets)
        self.asked = self.by_sheets.asked
        self.names = self.by_sheets.names
        self.observations = swapped(site.live_marks(), self.names.place)
        self.stays, self.stay_findings = stays(self.observations, self.names.place)
        self.untrue = {(one.file, one.line, one.column): one for one in self.stay_findings}
        self.evidence = Evidence(self.observations, self.by_sheets)
        self.states = States(self.observations, site.sheets)
        self.excused = self._excused()
        self.nonconformities, self.nonconformity_findings = nonconformities(site)
        self.reopenings = self._reopenings()
        self.removed = {
            self.names.place(obs.place)
            for obs in self.observations
            if row_of(obs.kind).judged == "serial" and obs.mode == "removed"
        }
        self.closed = self._closed()
        self._install = [stay for stay in site.visits if stay.purpose == INSTALL][:1]
        # Most is asked once, at the install; the others each in visits of their own.
        self.visits: dict[int, list[VisitPeriod]] = dict.fromkeys(self.by_sheets.asked_once, self._install)
        self.visits |= {id(one): self._asking_visits(one) for one in self.by_sheets.asked_in_visits}

    # ---- what is around ----------------------------------------------------------------------------
    def device(self, name: str) -> Device | None:
        """The protective device that the log gives for a place."""
        observations = self.evidence.of(Key("device", "", self.names.place(name)))
        record = observations[-1].record if observations else None
        return record if isinstance(record, Device) else None

    def trial(self, obs: Observation) -> Trial | Trouble | None:
        """What the file of a `series` entry gave; None where it was not read."""
        return self.trials.get((obs.file, obs.line))

    def nonconformity_of(
        self, one: Requirement, at: tuple[int, int, int] | None = None
    ) -> Nonconformity | None:
        """The major defect or the danger that a place has, now or at a moment; a swap takes it away."""
        if not self.nonconformities:
            return None
        place = self.names.place(one.place)
        swaps = [obs.moment.order for obs in self.evidence.of(self.names.asked(one)) if obs.mode == "swap"]
        for defect in self.nonconformities:
            found = defect.since.context.moment.order
            gone = defect.cleared.context.moment.order if defect.cleared is not None else None
            if (
                defect.grade in _BARS
                and self.names.place(defect.place) == place
                and (at is None or found < at)
                and (gone is None or (at is not None and gone > at))
                and not any(found < swap and (at is None or swap < at) for swap in swaps)
            ):
                return defect
        return None

    def _closed(self) -> bool:
        """Whether the last visit took every part away and is signed: then the site asks for nothing more."""
        last = self.site.visits[-1]
        if last.purpose != REMOVAL or last.signed is None or not self.removed:
            return False
        gone = self.removed | self.excused.keys()
        asked = {self.names.place(one.place) for one in self.asked if row_of(one.kind).judged == "serial"}
        return asked <= gone and all(stay.until is not None for stay in self.stays)

    def _excused(self) -> dict[str, NotApplicable]:
        """The names that a lead took out of the missing, with a reason."""
        found: dict[str, NotApplicable] = {}
        for one in self.site.of(NotApplicable):
            record = one.record
            if (
                isinstance(record, NotApplicable)
                and (one.file, one.entry.number) not in self.site.struck.lines
            ):
                who = self.site.crew.get(one.context.by.casefold())
                if who is not None and who.role == "lead" and one.entry.remark:
                    found.update(
                        dict.fromkeys((self.names.place(place.name) for place in record.places), record)
                    )
        return found

    def _reopenings(self) -> list[tuple[set[int], list[Observation]]]:
        """The swaps and removals that reopen something, each with the identities of what they reopen."""
        found: list[tuple[set[int], list[Observation]]] = []
        for part in self.asked:
            if not part.reopens:
                continue
            observations = [
                obs for obs in self.evidence.of(self.names.asked(part)) if obs.mode in ("swap", "removed")
            ]
            if observations:
                reopened = [
                    others for name in part.reopens for others in self.evidence.meant(name, part).values()
                ]
                found.append(({id(one) for others in reopened for one in others}, observations))
        return found

    # ---- visits --------------------------------------------------------------------------------------
    def _asking_visits(self, one: Requirement) -> list[VisitPeriod]:
        """The visits that ask a requirement anew; what stands in between serves the one before."""
        visits = self.site.visits
        if one.visit or one.every is None:
            return [stay for stay in visits if stay.purpose == one.visit]
        found = list(self._install)
        for stay in visits:
            if stay.purpose in (INSTALL, REMOVAL) or stay.day is None:
                continue
            last = self._last_good(one, stay)
            if last is None or later(last, one.every.months, one.every.days) <= stay.day:
                found.append(stay)
        return found

    def _last_good(self, one: Requirement, before: VisitPeriod) -> date | None:
        days = [
            obs.moment.day
            for obs in self.evidence.of(self.names.asked(one))
            if obs.moment.visit < before.index
            and obs.moment.day is not None
            and (obs.live or obs.mode == "held")
        ]
        return max(days, default=None)

    def previous(self, one: Requirement, obs: Observation) -> Observation | None:
        """The value before this one, of an earlier visit too, under the same conditions."""
        observations = self.evidence.of(self.names.asked(one))
        if len(observations) < 2 or observations[0] is obs:
            return None
        earlier = [
            other
            for other in observations
            if other.live
            and other.moment.order < obs.moment.order
            and other.condition_key == obs.condition_key
        ]
        return earlier[-1] if earlier else None


def later(day: date, months: int, days: int) -> date:
    """The same day some months and days later."""
    return months_later(day, months) + timedelta(days=days)

"""One site laid out for judging: its marks by what they are about, and what surrounds them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from sitelog.files.records import Sheet
from sitelog.judging.calibration import months_later
from sitelog.judging.defects import Flaw, flaws
from sitelog.judging.evidence import Evidence, Key, States, asking
from sitelog.judging.parts import stays, swapped
from sitelog.judging.site import INSTALL, Mark, SiteLog, Stay
from sitelog.judging.tools import Toolbox
from sitelog.language.kinds.asked import Asked
from sitelog.language.kinds.electric import Device
from sitelog.language.kinds.paper import NotApplicable

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
        self.asking = asking(site.sheets)
        self.asked = self.asking.asked
        self.names = self.asking.names
        self.marks = swapped(site.live_marks(), self.names.place)
        self.stays, self.stay_findings = stays(self.marks, self.names.place)
        self.untrue = {(one.file, one.line, one.column): one for one in self.stay_findings}
        self.evidence = Evidence(self.marks, self.asking)
        self.states = States(self.marks, site.sheets)
        self.excused = self._excused()
        self.flaws, self.flaw_findings = flaws(site)
        self.reopenings = self._reopenings()
        self.removed = {
            self.names.place(mark.place)
            for mark in self.marks
            if mark.kind == "part" and mark.mode == "removed"
        }
        self.closed = self._closed()
        self._install = [stay for stay in site.visits if stay.purpose == INSTALL][:1]
        # Most is asked once, at the install; the others each in visits of their own.
        self.visits: dict[int, list[Stay]] = dict.fromkeys(self.asking.asked_once, self._install)
        self.visits |= {id(one): self._asking_visits(one) for one in self.asking.asked_in_visits}

    # ---- what is around ----------------------------------------------------------------------------
    def device(self, name: str) -> Device | None:
        """The protective device that the log gives for a place."""
        marks = self.evidence.of(Key("device", "", self.names.place(name)))
        record = marks[-1].record if marks else None
        return record if isinstance(record, Device) else None

    def trial(self, mark: Mark) -> Trial | Trouble | None:
        """What the file of a `series` entry gave; None where it was not read."""
        return self.trials.get((mark.file, mark.line))

    def flaw_of(self, one: Asked, at: tuple[int, int, int] | None = None) -> Flaw | None:
        """The major defect or the danger that a place has, now or at a moment; a swap takes it away."""
        if not self.flaws:
            return None
        place = self.names.place(one.place)
        swaps = [mark.moment.order for mark in self.evidence.of(self.names.asked(one)) if mark.mode == "swap"]
        for flaw in self.flaws:
            found = flaw.since.around.moment.order
            gone = flaw.cleared.around.moment.order if flaw.cleared is not None else None
            if (
                flaw.grade in _BARS
                and self.names.place(flaw.place) == place
                and (at is None or found < at)
                and (gone is None or (at is not None and gone > at))
                and not any(found < swap and (at is None or swap < at) for swap in swaps)
            ):
                return flaw
        return None

    def _closed(self) -> bool:
        """Whether the last visit took every part away and is signed: then the site asks for nothing more."""
        last = self.site.visits[-1]
        if last.purpose != REMOVAL or last.signed is None or not self.removed:
            return False
        gone = self.removed | self.excused.keys()
        asked = {self.names.place(one.place) for one in self.asked if one.kind == "part"}
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
                who = self.site.crew.get(one.around.by.casefold())
                if who is not None and who.role == "lead" and one.entry.remark:
                    found.update(
                        dict.fromkeys((self.names.place(place.name) for place in record.places), record)
                    )
        return found

    def _reopenings(self) -> list[tuple[set[int], list[Mark]]]:
        """The swaps and removals that reopen something, each with the identities of what they reopen."""
        found: list[tuple[set[int], list[Mark]]] = []
        for part in self.asked:
            if not part.reopens:
                continue
            marks = [
                mark for mark in self.evidence.of(self.names.asked(part)) if mark.mode in ("swap", "removed")
            ]
            if marks:
                reopened = [
                    others for name in part.reopens for others in self.evidence.meant(name, part).values()
                ]
                found.append(({id(one) for others in reopened for one in others}, marks))
        return found

    # ---- visits --------------------------------------------------------------------------------------
    def _asking_visits(self, one: Asked) -> list[Stay]:
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

    def _last_good(self, one: Asked, before: Stay) -> date | None:
        days = [
            mark.moment.day
            for mark in self.evidence.of(self.names.asked(one))
            if mark.moment.visit < before.index
            and mark.moment.day is not None
            and (mark.live or mark.mode == "held")
        ]
        return max(days, default=None)

    def previous(self, one: Asked, mark: Mark) -> Mark | None:
        """The value before this one, of an earlier visit too, under the same conditions."""
        marks = self.evidence.of(self.names.asked(one))
        if len(marks) < 2 or marks[0] is mark:
            return None
        earlier = [
            other
            for other in marks
            if other.live
            and other.moment.order < mark.moment.order
            and other.condition_key == mark.condition_key
        ]
        return earlier[-1] if earlier else None


def later(day: date, months: int, days: int) -> date:
    """The same day some months and days later."""
    return months_later(day, months) + timedelta(days=days)

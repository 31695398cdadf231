"""What stands → verdicts: every requirement of every sheet, once for each visit that asks it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from sitelog.judge.defects import flaws
from sitelog.judge.evidence import Evidence, Fit, Key, Names, States, fit
from sitelog.judge.limits import against
from sitelog.judge.order import Order
from sitelog.judge.parts import stays, swapped
from sitelog.judge.results import Result
from sitelog.judge.tools import Toolbox, behind, months_later
from sitelog.judge.values import RULES, Around, Outcome, satisfied
from sitelog.kinds.asked import NO_LIMITS, Asked
from sitelog.kinds.electric import Device
from sitelog.kinds.paper import NotApplicable
from sitelog.kinds.reading import Reading
from sitelog.places import group
from sitelog.quantities import Quantity, format_quantity
from sitelog.records import Sheet
from sitelog.site import INSTALL, Mark, SiteLog, Stay
from sitelog.verdicts import NOT_APPLICABLE, Reason, by_rank, worst, worst_of

if TYPE_CHECKING:  # not loaded where no log holds a trial
    from sitelog.trials.results import Trial, Trouble

    # What the files of the `series` entries gave, by the entry's file and line.
    Trials = Mapping[tuple[str, int], Trial | Trouble]

_REMOVAL = "removal"


class Judge:
    """Judges one site. Pure: the same site, tools and day give the same results."""

    def __init__(self, site: SiteLog, box: Toolbox, today: date, trials: Trials | None = None) -> None:
        self.site = site
        self.box = box
        self.today = today
        self.trials: Trials = trials or {}
        self.sheets: tuple[Sheet, ...] = site.sheets
        self.guards = {sheet.name: sheet.guard or 0.0 for sheet in site.sheets}
        self.asked = [one for sheet in site.sheets for one in sheet.asked]
        self.names = Names(site.sheets)
        self.marks = swapped(site.live_marks(), self.names.place)
        self.stays, self.stay_findings = stays(self.marks, self.names.place)
        self.evidence = Evidence(self.marks, self.asked, self.names)
        self.states = States(self.marks, site.sheets)
        self.excused = self._excused()
        self.flaws, _ = flaws(site)
        self.reopenings = self._reopenings()
        self.removed = {
            self.names.place(mark.place)
            for mark in self.marks
            if mark.kind == "part" and mark.mode == "removed"
        }
        self.closed = self._closed()
        self._visits = {id(one): self._asking_visits(one) for one in self.asked}
        self.order = Order(
            self.evidence,
            self.states,
            self.asked,
            lambda one, mark: fit(one, mark).answer != "no" and satisfied(one, mark, self.device),
            lambda one: self._key_names(one) & self.excused.keys() != set(),
            lambda one, visit: any(stay.index == visit for stay in self._visits[id(one)]),
        )

    # ---- what is around ----------------------------------------------------------------------------
    def device(self, name: str) -> Device | None:
        """The protective device that the log gives for a place."""
        marks = self.evidence.of(Key("device", "", self.names.place(name)))
        record = marks[-1].record if marks else None
        return record if isinstance(record, Device) else None

    def trial(self, mark: Mark) -> Trial | Trouble | None:
        """What the file of a `series` entry gave; None where it was not read."""
        return self.trials.get((mark.file, mark.line))

    def _closed(self) -> bool:
        """Whether the last visit took every part away and is signed: then the site asks for nothing more."""
        last = self.site.visits[-1]
        if last.purpose != _REMOVAL or last.signed is None or not self.removed:
            return False
        gone = self.removed | self.excused.keys()
        asked = {self.names.place(one.place) for one in self.asked if one.kind == "part"}
        return asked <= gone and all(stay.until is not None for stay in self.stays)

    def _excused(self) -> dict[str, NotApplicable]:
        """The names that a lead took out of the missing, with a reason."""
        found: dict[str, NotApplicable] = {}
        for one in self.site.written:
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

    def _key_names(self, one: Asked) -> set[str]:
        place = self.names.place(one.place)
        return {place, group(place), one.what.casefold(), f"{one.what.casefold()} {place}".strip()} - {""}

    # ---- visits --------------------------------------------------------------------------------------
    def _asking_visits(self, one: Asked) -> list[Stay]:
        """The visits that ask a requirement anew; what stands in between serves the one before."""
        visits = self.site.visits
        if one.visit:
            return [stay for stay in visits if stay.purpose == one.visit]
        install = [stay for stay in visits if stay.purpose == INSTALL]
        if one.every is None:
            return install[:1]
        found = install[:1]
        for stay in visits:
            if stay.purpose in (INSTALL, _REMOVAL) or stay.day is None:
                continue
            last = self._last_good(one, stay)
            if last is None or _later(last, one.every.months, one.every.days) <= stay.day:
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

    # ---- everything ----------------------------------------------------------------------------------
    def results(self) -> list[Result]:
        """One result for each requirement and visit that asks it, and for what was done unasked."""
        found: list[Result] = []
        seen: set[Key] = set()
        # What another line asks of the same thing, in a visit of this log, is what was done for that line.
        serving = {self.names.asked(one) for one in self.asked if self._visits[id(one)]}
        for one in self.asked:
            key = self.names.asked(one)
            if one.kind == "spread":
                found += [self._spread(one, stay) for stay in self._visits[id(one)]]
                continue
            seen.add(key)
            marks = self.evidence.of(key)
            if not marks and (marks := self._by_word(one)):
                seen.add(self.evidence.key(marks[0]))
            stays = self._visits[id(one)]
            if (
                not stays and marks and key not in serving
            ):  # done in a visit that does not ask it: judged all the same
                stays = [self.site.visits[marks[0].moment.visit]]
            for at, stay in enumerate(stays):
                end = stays[at + 1].index if at + 1 < len(stays) else len(self.site.visits)
                within = [mark for mark in marks if stay.index <= mark.moment.visit < end]
                found.append(self._result(one, stay, within, end))
        for key in self.evidence.keys():  # noqa: SIM118 (no dict)
            if key not in seen and key.kind in RULES:
                found.append(self._unasked(key, self.evidence.of(key)))
        return found

    def _by_word(self, one: Asked) -> list[Mark]:
        """`set mode self-use` serves what a sheet wrote as `set mode self-use`."""
        if one.kind != "set" or not one.place or one.limits != NO_LIMITS:
            return []
        marks = self.evidence.of(Key("set", one.what.casefold(), ""))
        return [mark for mark in marks if mark.word.casefold() == one.place.casefold()]

    # ---- one requirement -----------------------------------------------------------------------------
    def _result(self, one: Asked, stay: Stay, marks: Sequence[Mark], end: int) -> Result:
        fits = [(mark, fit(one, mark)) for mark in marks]
        counting = [mark for mark, how in fits if how.answer == "yes"]
        held = one.every is not None and stay.purpose != INSTALL
        live = self._live(counting, held)
        how = Fit("yes")
        if not live:
            unsure = [mark for mark, how in fits if how.answer == "doubtful"]
            live = self._live(unsure, held)
            counting = counting or unsure
            if live:
                how = next(how for mark, how in fits if mark is self._decisive(one, live))
        if not live:
            return self._without(one, stay, counting, [pair for pair in fits if pair[1].answer == "no"])
        mark = self._decisive(one, live)
        outcome = self._outcome(one, mark)
        reasons = list(outcome.reasons)
        if how.answer == "doubtful":
            reasons.append(
                Reason("doubtful", "wrong-test-voltage", f"{one.name}: {how.why}", "measure again as asked")
            )
        reasons += self.order.reasons(one, mark)
        reasons += self._since(one, mark, marks, end)
        finals = [other for other in live if other.mode in ("final", "click", "swap")]
        return Result(
            one.kind,
            one.what,
            one.place,
            stay.index,
            worst(reasons),
            by_rank(reasons),
            one,
            mark,
            outcome.limits,
            outcome.margin,
            outcome.probability,
            outcome.behind,
            self._previous(one, mark),
            max(len(finals) - 1, 0) if one.kind == "joint" else 0,
            dict(outcome.computed).get("drop"),
        )

    def _live(self, marks: Iterable[Mark], held: bool) -> list[Mark]:
        """The marks that count. A re-torque check serves what is asked again and again."""
        modes = {"final", "click", "swap"} | ({"held", "moved"} if held else set())
        return [mark for mark in marks if mark.mode in modes]

    def _decisive(self, one: Asked, live: Sequence[Mark]) -> Mark:
        """The newest mark; of readings under several conditions (0 and 180 degrees) the worst of them."""
        if one.kind != "reading" or len({mark.condition_key for mark in live}) < 2:
            return live[-1]
        standing: list[tuple[str, Mark]] = []
        for mark in reversed(live):
            further = ", ".join(
                sorted(
                    c.key for c in mark.conditions if one.condition is None or c.kind != one.condition.kind
                )
            )
            if not standing or (further and all(key not in ("", further) for key, _ in standing)):
                standing.append((further, mark))
        verdicts = [(worst(self._outcome(one, mark).reasons), mark) for _, mark in standing]
        lowest = worst_of(verdict for verdict, _ in verdicts)
        return next(mark for verdict, mark in verdicts if verdict == lowest)

    def _outcome(self, one: Asked, mark: Mark) -> Outcome:
        around = Around(self.box, self.guards.get(one.sheet, 0.0), self.device, self._previous, self.trial)
        return RULES[one.kind](one, mark, around)

    def _without(
        self, one: Asked, stay: Stay, marks: Sequence[Mark], misfits: list[tuple[Mark, Fit]]
    ) -> Result:
        """The verdict where nothing was done that counts."""
        last = marks[-1] if marks else None
        near: Mark | None = None
        place = self.names.place(one.place)
        if excuse := next(
            (self.excused[name] for name in self._key_names(one) if name in self.excused), None
        ):
            reason = Reason(NOT_APPLICABLE, "", f"does not apply: {excuse.head.entry.remark}")
            return Result(
                one.kind, one.what, one.place, stay.index, NOT_APPLICABLE, (reason,), one, limits=one.limits
            )
        if place and place in self.removed:
            reason = Reason(NOT_APPLICABLE, "", "was removed")
            return Result(
                one.kind, one.what, one.place, stay.index, NOT_APPLICABLE, (reason,), one, limits=one.limits
            )
        if self.closed and one.visit != _REMOVAL:
            reason = Reason(NOT_APPLICABLE, "", "everything was removed")
            return Result(
                one.kind, one.what, one.place, stay.index, NOT_APPLICABLE, (reason,), one, limits=one.limits
            )
        modes = {mark.mode for mark in marks}
        if "not-tested" in modes:
            why = last.record.head.entry.remark if last is not None else ""
            reason = Reason(
                "not-tested",
                "not-tested",
                f"{one.name} was not tested" + (f": {why}" if why else ""),
                "test it, or have a lead write `n/a`",
            )
        elif "pre" in modes:
            reason = Reason(
                "pre-only",
                "pre-only",
                f"{one.place} is only pre-tightened",
                "tighten it and write the final value",
            )
        elif "loosed" in modes or "removed" in modes:
            reason = Reason("reopened", "reopened", f"{one.place} was undone and not done again")
        elif misfits:
            near, how = misfits[-1]
            slug = (
                "wrong-test-voltage"
                if one.condition is not None and one.condition.kind == "voltage"
                else "missing"
            )
            reason = Reason("missing", slug, f"{one.name}: {how.why}", "measure again as asked")
        else:
            reason = Reason("missing", "missing", _asks(one))
        reasons = [reason]
        if last is not None and last.mode in ("pre", "loosed"):
            reasons += self.order.while_(one, last)
        behind_mark = last if reason.verdict != "missing" else None
        return Result(
            one.kind, one.what, one.place, stay.index, worst(reasons), by_rank(reasons), one, behind_mark,
            limits=one.limits, near=near,
        )  # fmt: skip

    def _since(self, one: Asked, mark: Mark, marks: Sequence[Mark], end: int) -> list[Reason]:
        """What happened since the value that counts: loosed, begun again, reopened by a swap, put off."""
        reasons: list[Reason] = []
        later = [other for other in marks if other.moment.order > mark.moment.order]
        for other in later:
            if other.mode == "loosed" and self._dismantling(other):
                reasons.append(Reason(NOT_APPLICABLE, "", f"was loosed for the removal in line {other.line}"))
            elif other.mode in ("loosed", "pre"):
                what = "loosed" if other.mode == "loosed" else "only pre-tightened again"
                reasons.append(
                    Reason(
                        "reopened",
                        "reopened",
                        f"{one.place} was {what} in line {other.line}",
                        "tighten it and write the final value",
                        other.moment.visit,
                    )
                )
            else:
                continue
            reasons += self.order.while_(one, other)
            break
        if one.kind == "part" and (gone := [other for other in later if other.mode == "removed"]):
            reasons.append(Reason(NOT_APPLICABLE, "", f"was removed in line {gone[-1].line}"))
        if any(other.mode == "not-tested" for other in later):
            reasons.append(Reason("not-tested", "not-tested", f"{one.name} was put off afterwards"))
        moved = [other for other in later if other.mode == "moved"]
        if moved and mark not in moved:
            reasons.append(
                Reason(
                    "doubtful",
                    "doubtful",
                    f"{one.place} moved at the re-torque check in line {moved[-1].line}",
                    "see why it had lost torque",
                )
            )
        if defect := self._retest(one, mark):
            reasons.append(
                Reason("reopened", "reopened", f"{one.name} is to be tested again: {defect}", "do it again")
            )
        if cause := self._reopened_by(one, mark, end):
            did = f"{cause.place} was {'swapped' if cause.mode == 'swap' else 'removed'} in line {cause.line}"
            if self._dismantling(cause):
                reasons.append(Reason(NOT_APPLICABLE, "", f"undone by the removal: {did}"))
            else:
                reasons.append(
                    Reason(
                        "reopened",
                        "reopened",
                        f"{one.name} reopened: {did}",
                        "do it again",
                        cause.moment.visit,
                    )
                )
        return reasons

    def _dismantling(self, mark: Mark) -> bool:
        """Whether a mark belongs to a removal, which asks for nothing to be done again."""
        return self.site.visits[mark.moment.visit].purpose == _REMOVAL

    def _retest(self, one: Asked, mark: Mark) -> str:
        """The defect of this place after which a sheet wants it tested again, where it was not since."""
        grades = {grade for sheet in self.sheets if sheet.name == one.sheet for grade in sheet.retest}
        places = {self.names.place(one.place), *self.names.place(one.place).split("/")}
        for flaw in self.flaws:
            since = (flaw.cleared or flaw.opened).around.moment.order
            if flaw.grade in grades and self.names.place(flaw.place) in places and mark.moment.order < since:
                return f"{flaw.name} was found here in line {flaw.opened.entry.number}"
        return ""

    def _reopenings(self) -> list[tuple[set[int], list[Mark]]]:
        """The swaps and removals that reopen something, each with the identities of what they reopen."""
        found: list[tuple[set[int], list[Mark]]] = []
        for part in self.asked:
            marks = [
                mark for mark in self.evidence.of(self.names.asked(part)) if mark.mode in ("swap", "removed")
            ]
            if part.reopens and marks:
                reopened = [
                    others for name in part.reopens for others in self.evidence.meant(name, part).values()
                ]
                found.append(({id(one) for others in reopened for one in others}, marks))
        return found

    def _reopened_by(self, one: Asked, mark: Mark, end: int) -> Mark | None:
        """The swap or removal after a mark, before the visit that asks anew, that a sheet says reopens it."""
        for reopened, marks in self.reopenings:
            if id(one) in reopened:
                for other in marks:
                    if other.moment.order > mark.moment.order and other.moment.visit < end:
                        return other
        return None

    def _previous(self, one: Asked, mark: Mark) -> Mark | None:
        """The value before this one, of an earlier visit too, under the same conditions."""
        earlier = [
            other
            for other in self.evidence.of(self.names.asked(one))
            if other.live
            and other.moment.order < mark.moment.order
            and other.condition_key == mark.condition_key
        ]
        return earlier[-1] if earlier else None

    def due_again(self, result: Result) -> date | None:
        """The day on which what `every` asks is due the next time; None where nothing says so."""
        one, mark = result.asked, result.mark
        if one is None or one.every is None or mark is None or mark.moment.day is None or result.open:
            return None
        return _later(mark.moment.day, one.every.months, one.every.days)

    # ---- what no sheet asks, and what is between places -------------------------------------------------
    def _unasked(self, key: Key, marks: Sequence[Mark]) -> Result:
        live = [mark for mark in marks if mark.live or mark.mode == "swap"]
        mark = live[-1] if live else marks[-1]
        # What is asked and still comes here is a reading that a spread is made of.
        why = "only its spread has a limit" if key in self.evidence.asked_keys else "no sheet asks this"
        reason = Reason("no-limit", "no-limit", why)
        previous = live[-2] if len(live) > 1 else None
        return Result(
            key.kind,
            mark.what,
            mark.place,
            mark.moment.visit,
            "no-limit",
            (reason,),
            None,
            mark,
            previous=previous,
        )

    def _spread(self, one: Asked, stay: Stay) -> Result:
        """The largest less the smallest of the newest readings at the places named."""
        places = one.place.split()
        newest: list[Mark] = []
        lacking: list[str] = []
        for place in places:
            key = Key("reading", one.what.casefold(), self.names.place(place))
            marks = [mark for mark in self.evidence.of(key) if mark.live and mark.value is not None]
            if marks:
                newest.append(marks[-1])
            else:
                lacking.append(place)
        about = f"spread of {one.what} {_between(places)}"
        if lacking and self.closed:
            reason = Reason(NOT_APPLICABLE, "", "everything was removed")
            return Result(
                "spread", one.what, one.place, stay.index, NOT_APPLICABLE, (reason,), one, limits=one.limits
            )
        if lacking:
            message = f"missing: {about}; not read: {', '.join(lacking)}"
            reason = Reason("missing", "missing", message)
            return Result(
                "spread", one.what, one.place, stay.index, "missing", (reason,), one, limits=one.limits
            )
        values = [mark.value for mark in newest if mark.value is not None]
        largest, smallest = max(values, key=lambda q: q.base), min(values, key=lambda q: q.base)
        apart = largest.base - smallest.base
        unit = one.limits.high or one.limits.low
        q = Quantity(apart, "", largest.kind, apart)
        if unit is not None:
            factor = unit.base / unit.number if unit.number else Decimal(1)
            q = Quantity((apart / factor).normalize(), unit.unit, largest.kind, apart)
        # Values known only to lie beyond the largest or the smallest make the spread at least that wide.
        bounded = [value for value in values if value.bound]
        q = q._replace(bound=">" if bounded else "")
        found = against("spread", q, one.limits, None, 0.0, about)
        reasons = list(found.reasons)
        if any(value is not (largest if value.bound == ">" else smallest) for value in bounded):
            message = f"{about} is open: {format_quantity(bounded[0])} is no single value"
            reasons = [
                Reason("doubtful", "doubtful", message, "measure again on a range that shows the value")
            ]
        last = max(newest, key=lambda mark: mark.moment.order)
        reasons += self._spread_tools(newest)
        reasons += self._spread_before(one, places)
        verdict, ranked = worst(reasons), by_rank(reasons)
        what, place, margin = one.what, one.place, found.margin
        return Result(
            "spread", what, place, stay.index, verdict, ranked, one, last, one.limits, margin, value=q
        )

    def _spread_tools(self, newest: Sequence[Mark]) -> list[Reason]:
        """Why the tools do not stand behind the readings; what the equipment showed itself needs none."""
        measured = [
            mark for mark in newest if not (isinstance(mark.record, Reading) and mark.record.displayed)
        ]
        return list(dict.fromkeys(reason for mark in measured for reason in behind(mark, self.box).reasons))

    def _spread_before(self, one: Asked, places: Sequence[str]) -> list[Reason]:
        for name in one.before:
            for others in self.evidence.meant(name, one).values():
                firsts = [
                    mark
                    for other in others
                    for mark in self.evidence.of(self.names.asked(other))
                    if mark.live
                ]
                first = min(firsts, key=lambda mark: mark.moment.order, default=None)
                if first is None:
                    continue
                for place in places:
                    key = Key("reading", one.what.casefold(), self.names.place(place))
                    if not any(
                        mark.live and mark.moment.order < first.moment.order for mark in self.evidence.of(key)
                    ):
                        message = f"{name} was done before {one.what} was read at {place}"
                        return [Reason("out-of-order", "out-of-order", message)]
        return []


def _between(places: Sequence[str]) -> str:
    return f"{places[0]} to {places[-1]}" if len(places) > 1 else "".join(places)


def _asks(one: Asked) -> str:
    """What is missing, in words."""
    asks = [one.limits.text] if one.limits.text and one.kind != "hole" else []
    asks += [limits.text for _, limits in one.items]
    if one.wait is not None:
        after = f" after {', '.join(one.after)}" if one.after else ""
        asks.append(f"{format_quantity(one.wait)}{after}")
    return f"missing: {one.name}" + (f" ({', '.join(asks)})" if asks else "")


def _later(day: date, months: int, days: int) -> date:
    return months_later(day, months) + timedelta(days=days)

"""What stands → verdicts: every requirement of every sheet, once for each visit that asks it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from functools import cached_property

from sitelog.base.verdicts import NOT_APPLICABLE, Reason, by_rank, worst, worst_of
from sitelog.judging.case import REMOVAL, Case, later
from sitelog.judging.evidence import Fit, Key, fit
from sitelog.judging.order import Order
from sitelog.judging.results import Result
from sitelog.judging.since import retest_from, since
from sitelog.judging.site import INSTALL, Mark, SiteLog, Stay
from sitelog.judging.spread import judge_spread
from sitelog.judging.tools import Toolbox
from sitelog.judging.values import RULES, Around, Outcome, satisfied
from sitelog.language.kinds.asked import NO_LIMITS, Asked
from sitelog.notation.quantities import format_quantity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sitelog.judging.case import Trials


_COUNTING = frozenset({"final", "click", "swap"})
_COUNTING_OR_HELD = _COUNTING | {"held", "moved"}
_FITS = Fit("yes")
_new = tuple.__new__  # three times as fast as calling a NamedTuple


class Judge(Case):
    """Judges one site. Pure: the same site, tools and day give the same results."""

    def __init__(self, site: SiteLog, box: Toolbox, today: date, trials: Trials | None = None) -> None:
        super().__init__(site, box, today, trials)
        self._around: dict[str, Around] = {}
        self.order = Order(
            self.evidence,
            self.states,
            self.asked,
            lambda one, mark: (
                (one.condition is None or fit(one, mark).answer != "no") and satisfied(one, mark, self.device)
            ),
            lambda one: (
                bool(self.excused) and any(name in self.excused for name in self.asking.names_of(one))
            ),
            lambda one, visit: visit in [stay.index for stay in self.visits[id(one)]],
            lambda one, moment: one.kind == "part" and self.flaw_of(one, moment.order) is not None,
            lambda one, before: retest_from(self, one, before),
        )

    def let_go(self) -> None:
        """Forget the site, so that its memory is free at once; nothing may be asked afterwards."""
        vars(self).clear()

    # ---- everything ----------------------------------------------------------------------------------
    def results(self) -> list[Result]:
        """One result for each requirement and visit that asks it, and for what was done unasked."""
        found: list[Result] = []
        seen: set[Key] = set()
        for one, key in self.asking.keyed:
            if one.kind == "spread":
                found += [judge_spread(self, one, stay) for stay in self.visits[id(one)]]
                continue
            seen.add(key)
            marks = self.evidence.of(key)
            if not marks and (marks := self._by_word(one)):
                seen.add(self.evidence.key(marks[0]))
            stays = self.visits[id(one)]
            if not stays and marks and key not in self._served:
                # done in a visit that does not ask it: judged all the same
                stays = [self.site.visits[marks[0].moment.visit]]
            for at, stay in enumerate(stays):
                end = stays[at + 1].index if at + 1 < len(stays) else len(self.site.visits)
                within = marks
                if len(self.site.visits) > 1:
                    within = [mark for mark in marks if stay.index <= mark.moment.visit < end]
                found.append(self._result(one, stay, within, end, len(marks) > 1))
        for key, marks in self.evidence.items():
            if key not in seen and key.kind in RULES:
                found.append(self._unasked(key, marks))
        return found

    @cached_property
    def _served(self) -> set[Key]:
        """What some line asks in a visit of this log: what was done of it was done for that line."""
        return {key for one, key in self.asking.keyed if self.visits[id(one)]}

    def _by_word(self, one: Asked) -> list[Mark]:
        """`set mode self-use` serves what a sheet wrote as `set mode self-use`."""
        if one.kind != "set" or not one.place or one.limits != NO_LIMITS:
            return []
        marks = self.evidence.of(Key("set", one.what.casefold(), ""))
        return [mark for mark in marks if mark.word.casefold() == one.place.casefold()]

    # ---- one requirement -----------------------------------------------------------------------------
    def _result(self, one: Asked, stay: Stay, marks: Sequence[Mark], end: int, several: bool) -> Result:
        fits = [(mark, fit(one, mark)) for mark in marks] if one.condition is not None else []
        counting = [mark for mark, how in fits if how.answer == "yes"] if fits else marks
        held = one.every is not None and stay.purpose != INSTALL
        live = self._live(counting, held)
        how = _FITS
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
        reasons += since(self, self.order, one, mark, marks, end)
        reworks = sum(other.mode in _COUNTING for other in live) - 1 if one.kind == "joint" else 0
        verdict, ranked = (worst(reasons), by_rank(reasons)) if reasons else ("pass", ())
        previous = self.previous(one, mark) if several else None
        drop = dict(outcome.computed).get("drop") if outcome.computed else None
        return _new(
            Result,
            (
                one.kind,
                one.what,
                one.place,
                stay.index,
                verdict,
                ranked,
                one,
                mark,
                outcome.limits,
                outcome.margin,
                outcome.probability,
                outcome.behind,
                previous,
                max(reworks, 0),
                drop,
                None,
            ),
        )

    def _live(self, marks: Iterable[Mark], held: bool) -> list[Mark]:
        """The marks that count. A re-torque check serves what is asked again and again."""
        modes = _COUNTING_OR_HELD if held else _COUNTING
        return [mark for mark in marks if mark.mode in modes]

    def _decisive(self, one: Asked, live: Sequence[Mark]) -> Mark:
        """The newest mark; of readings under several conditions (0 and 180 degrees) the worst of them."""
        if one.kind != "reading" or len(live) == 1 or len({mark.condition_key for mark in live}) < 2:
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
        around = self._around.get(one.sheet)
        if around is None:
            guard = self.guards.get(one.sheet, 0.0)
            around = Around(self.box, guard, self.device, self.previous, self.trial)
            self._around[one.sheet] = around
        return RULES[one.kind](one, mark, around)

    def _without(
        self, one: Asked, stay: Stay, marks: Sequence[Mark], misfits: list[tuple[Mark, Fit]]
    ) -> Result:
        """The verdict where nothing was done that counts."""
        last = marks[-1] if marks else None
        near: Mark | None = None
        place = self.names.place(one.place)
        names = self.asking.names_of(one)
        if excuse := next((self.excused[name] for name in names if name in self.excused), None):
            reason = Reason(NOT_APPLICABLE, "", f"does not apply: {excuse.head.entry.remark}")
            return Result(
                one.kind, one.what, one.place, stay.index, NOT_APPLICABLE, (reason,), one, limits=one.limits
            )
        if place and place in self.removed:
            reason = Reason(NOT_APPLICABLE, "", "was removed")
            return Result(
                one.kind, one.what, one.place, stay.index, NOT_APPLICABLE, (reason,), one, limits=one.limits
            )
        if self.closed and one.visit != REMOVAL:
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

    def due_again(self, result: Result) -> date | None:
        """The day on which what `every` asks is due the next time; None where nothing says so."""
        one, mark = result.asked, result.mark
        if one is None or one.every is None or mark is None or mark.moment.day is None or result.open:
            return None
        return later(mark.moment.day, one.every.months, one.every.days)

    # ---- what no sheet asks --------------------------------------------------------------------------
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


def _asks(one: Asked) -> str:
    """What is missing, in words."""
    asks = [one.limits.text] if one.limits.text and one.kind != "hole" else []
    asks += [limits.text for _, limits in one.items]
    if one.wait is not None:
        after = f" after {', '.join(one.after)}" if one.after else ""
        asks.append(f"{format_quantity(one.wait)}{after}")
    return f"missing: {one.name}" + (f" ({', '.join(asks)})" if asks else "")

"""What stands → verdicts: every requirement of every sheet, once for each visit that asks it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from functools import cached_property

from sitelog.base.verdicts import NOT_APPLICABLE, Reason, by_rank, worst, worst_of
from sitelog.judging.case import REMOVAL, Case, later
from sitelog.judging.evidence import ConditionFit, Key, fit
from sitelog.judging.order import Order
from sitelog.judging.results import Result
from sitelog.judging.since import retest_from, since
from sitelog.judging.site import INSTALL, Observation, SiteLog, VisitPeriod
from sitelog.judging.spread import judge_spread
from sitelog.judging.tools import Toolbox
from sitelog.judging.values import RULES, Outcome, RuleContext, is_good
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import NO_LIMITS, Requirement
from sitelog.notation.quantities import format_quantity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sitelog.judging.case import Trials


_COUNTING = frozenset({"final", "click", "swap"})
_COUNTING_OR_HELD = _COUNTING | {"held", "moved"}
_FITS = ConditionFit("yes")
_new = tuple.__new__  # three times as fast as calling a NamedTuple


class Judge(Case):
    """Judges one site. Pure: the same site, tools and day give the same results."""

    def __init__(self, site: SiteLog, box: Toolbox, today: date, trials: Trials | None = None) -> None:
        super().__init__(site, box, today, trials)
        self._around: dict[str, RuleContext] = {}
        self.order = Order(
            self.evidence,
            self.states,
            self.asked,
            lambda one, obs: (
                (one.condition is None or fit(one, obs).answer != "no")
                and is_good(one, obs, self._context(one))
            ),
            lambda one: (
                bool(self.excused) and any(name in self.excused for name in self.by_sheets.names_of(one))
            ),
            lambda one, visit: visit in [stay.index for stay in self.visits[id(one)]],
            lambda one, moment: (
                row_of(one.kind).judged == "serial" and self.nonconformity_of(one, moment.order) is not None
            ),
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
        for one, key in self.by_sheets.keyed:
            if one.kind not in RULES:  # a spread, judged from several observations
                found += [judge_spread(self, one, stay) for stay in self.visits[id(one)]]
                continue
            seen.add(key)
            observations = self.evidence.of(key)
            if not observations and (observations := self._by_word(one)):
                seen.add(self.evidence.key(observations[0]))
            stays = self.visits[id(one)]
            if not stays and observations and key not in self._served:
                # done in a visit that does not ask it: judged all the same
                stays = [self.site.visits[observations[0].moment.visit]]
            for at, stay in enumerate(stays):
                end = stays[at + 1].index if at + 1 < len(stays) else len(self.site.visits)
                within = observations
                if len(self.site.visits) > 1:
                    within = [obs for obs in observations if stay.index <= obs.moment.visit < end]
                found.append(self._result(one, stay, within, end, len(observations) > 1))
        for key, observations in self.evidence.items():
            if key not in seen and key.kind in RULES:
                found.append(self._unasked(key, observations))
        return found

    @cached_property
    def _served(self) -> set[Key]:
        """What some line asks in a visit of this log: what was done of it was done for that line."""
        return {key for one, key in self.by_sheets.keyed if self.visits[id(one)]}

    def _by_word(self, one: Requirement) -> list[Observation]:
        """`set mode self-use` serves what a sheet wrote as `set mode self-use`."""
        if row_of(one.kind).judged != "setting" or not one.place or one.limits != NO_LIMITS:
            return []
        observations = self.evidence.of(Key(one.kind, one.what.casefold(), ""))
        return [obs for obs in observations if obs.word.casefold() == one.place.casefold()]

    # ---- one requirement -----------------------------------------------------------------------------
    def _result(
        self,
        one: Requirement,
        stay: VisitPeriod,
        observations: Sequence[Observation],
        end: int,
        several: bool,
    ) -> Result:
        fits = [(obs, fit(one, obs)) for obs in observations] if one.condition is not None else []
        counting = [obs for obs, how in fits if how.answer == "yes"] if fits else observations
        held = one.every is not None and stay.purpose != INSTALL
        live = self._live(counting, held)
        how = _FITS
        if not live:
            unsure = [obs for obs, how in fits if how.answer == "doubtful"]
            live = self._live(unsure, held)
            counting = counting or unsure
            if live:
                how = next(how for obs, how in fits if obs is self._decisive(one, live))
        if not live:
            return self._without(one, stay, counting, [pair for pair in fits if pair[1].answer == "no"])
        obs = self._decisive(one, live)
        outcome = self._outcome(one, obs)
        reasons = list(outcome.reasons)
        if how.answer == "doubtful":
            reasons.append(
                Reason("doubtful", "wrong-test-voltage", f"{one.name}: {how.why}", "measure again as asked")
            )
        reasons += self.order.reasons(one, obs)
        reasons += since(self, self.order, one, obs, observations, end)
        reworks = sum(other.mode in _COUNTING for other in live) - 1 if row_of(one.kind).worked_on else 0
        verdict, ranked = (worst(reasons), by_rank(reasons)) if reasons else ("pass", ())
        previous = self.previous(one, obs) if several else None
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
                obs,
                outcome.limits,
                outcome.margin,
                outcome.probability,
                outcome.instrument,
                previous,
                max(reworks, 0),
                drop,
                None,
            ),
        )

    def _live(self, observations: Iterable[Observation], held: bool) -> list[Observation]:
        """The marks that count. A re-torque check serves what is asked again and again."""
        modes = _COUNTING_OR_HELD if held else _COUNTING
        return [obs for obs in observations if obs.mode in modes]

    def _decisive(self, one: Requirement, live: Sequence[Observation]) -> Observation:
        """The newest mark; of readings under several conditions (0 and 180 degrees) the worst of them."""
        if (
            row_of(one.kind).measures != "by name"
            or len(live) == 1
            or len({obs.condition_key for obs in live}) < 2
        ):
            return live[-1]
        standing: list[tuple[str, Observation]] = []
        for obs in reversed(live):
            further = ", ".join(
                sorted(c.key for c in obs.conditions if one.condition is None or c.kind != one.condition.kind)
            )
            if not standing or (further and all(key not in ("", further) for key, _ in standing)):
                standing.append((further, obs))
        verdicts = [(worst(self._outcome(one, obs).reasons), obs) for _, obs in standing]
        lowest = worst_of(verdict for verdict, _ in verdicts)
        return next(obs for verdict, obs in verdicts if verdict == lowest)

    def _outcome(self, one: Requirement, obs: Observation) -> Outcome:
        return RULES[one.kind](one, obs, self._context(one))

    def _context(self, one: Requirement) -> RuleContext:
        around = self._around.get(one.sheet)
        if around is None:
            guard = self.guards.get(one.sheet, 0.0)
            around = RuleContext(self.box, guard, self.device, self.previous, self.trial)
            self._around[one.sheet] = around
        return around

    def _without(
        self,
        one: Requirement,
        stay: VisitPeriod,
        observations: Sequence[Observation],
        misfits: list[tuple[Observation, ConditionFit]],
    ) -> Result:
        """The verdict where nothing was done that counts."""
        last = observations[-1] if observations else None
        near: Observation | None = None
        place = self.names.place(one.place)
        names = self.by_sheets.names_of(one)
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
        modes = {obs.mode for obs in observations}
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
        one, obs = result.requirement, result.observation
        if one is None or one.every is None or obs is None or obs.moment.day is None or result.open:
            return None
        return later(obs.moment.day, one.every.months, one.every.days)

    # ---- what no sheet asks --------------------------------------------------------------------------
    def _unasked(self, key: Key, observations: Sequence[Observation]) -> Result:
        live = [obs for obs in observations if obs.live or obs.mode == "swap"]
        obs = live[-1] if live else observations[-1]
        # What is asked and still comes here is a reading that a spread is made of.
        why = "only its spread has a limit" if key in self.evidence.asked_keys else "no sheet asks this"
        reason = Reason("no-limit", "no-limit", why)
        previous = live[-2] if len(live) > 1 else None
        return Result(
            key.kind,
            obs.what,
            obs.place,
            obs.moment.visit,
            "no-limit",
            (reason,),
            None,
            obs,
            previous=previous,
        )


def _asks(one: Requirement) -> str:
    """What is missing, in words."""
    asks = [one.limits.text] if one.limits.text and row_of(one.kind).judged != "two sizes" else []
    asks += [limits.text for _, limits in one.items]
    if one.wait is not None:
        after = f" after {', '.join(one.after)}" if one.after else ""
        asks.append(f"{format_quantity(one.wait)}{after}")
    return f"missing: {one.name}" + (f" ({', '.join(asks)})" if asks else "")

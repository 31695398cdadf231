"""What was observed → verdicts: every requirement of every sheet, once for each visit that asks it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from functools import cached_property

from sitelog.base.verdicts import FAILING, NOT_APPLICABLE, Reason, by_rank, worst, worst_of
from sitelog.judging.case import REMOVAL, Case, later
from sitelog.judging.evidence import ConditionFit, Key, comparable_key, fit
from sitelog.judging.order import Order
from sitelog.judging.other_tests import newer_failure, stated_otherwise
from sitelog.judging.reopening import Reopening
from sitelog.judging.results import Result
from sitelog.judging.site import INSTALL, Observation, VisitPeriod
from sitelog.judging.spread import judge_spread
from sitelog.judging.values import RULES, Outcome, RuleContext
from sitelog.judging.voltages import unasked_reasons
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import NO_LIMITS, Requirement
from sitelog.notation.quantities import format_quantity

_COUNTING = frozenset({"final", "click", "swap"})
_CHECKS = frozenset({"held", "moved"})
_FITS = ConditionFit("yes")
_new = tuple.__new__  # three times as fast as calling a NamedTuple


class Judge:
    """Judges one site. Pure: the same case gives the same results."""

    def __init__(self, case: Case) -> None:
        self._case = case
        self._order = Order(case)
        self._reopening = Reopening(case)
        self._contexts: dict[str, RuleContext] = {}  # by the sheet's name

    # ---- everything ----------------------------------------------------------------------------------
    def results(self) -> list[Result]:
        """One result for each requirement and visit that asks it, and for what was done unasked."""
        case = self._case
        found: list[Result] = []
        seen: set[Key] = set()
        for requirement, key in case.by_sheets.keyed:
            if requirement.kind not in RULES:  # a spread, judged from several observations
                visits = case.visits[id(requirement)]
                found += [judge_spread(case, requirement, visit) for visit in visits]
                continue
            seen.add(key)
            observations = case.evidence.of(key)
            if not observations and (observations := self._by_word(requirement)):
                seen.add(case.evidence.key(observations[0]))
            visits = case.visits[id(requirement)]
            if not visits and observations and key not in self._served:
                # done in a visit that does not ask it: judged all the same
                visits = [case.log.visits[observations[0].moment.visit]]
            if requirement.every is not None and not requirement.visit and visits:
                found.append(self._every(requirement, visits, observations))
                continue
            for at, visit in enumerate(visits):
                end = visits[at + 1].index if at + 1 < len(visits) else len(case.log.visits)
                within = observations
                if len(case.log.visits) > 1:
                    within = [obs for obs in observations if visit.index <= obs.moment.visit < end]
                found.append(self._result(requirement, visit, within, end, len(observations) > 1))
        for key, observations in case.evidence.items():
            if key not in seen and key.kind in RULES:
                found.append(self._unasked(key, observations))
        return found

    def _every(
        self, requirement: Requirement, visits: Sequence[VisitPeriod], observations: Sequence[Observation]
    ) -> Result:
        """The one result of what is asked again and again.

        It needs an observation from the last visit on that asked it anew. Where there is none, what failed
        before still stands as it was; anything else is missing, and was due from the last good one on.
        """
        end, several = len(self._case.log.visits), len(observations) > 1
        visit = visits[-1]
        within: Sequence[Observation] = [obs for obs in observations if obs.moment.visit >= visit.index]
        if any(obs.mode in _CHECKS for obs in within):  # they check what was tightened before
            within = observations
        if within or visit.index == visits[0].index:
            return self._result(requirement, visit, within, end, several)
        if not observations:
            signed = next((asking for asking in visits if asking.signed is not None), visit)
            return self._result(requirement, signed, observations, end, several)
        before = self._result(requirement, visit, observations, end, several)
        return before if before.failing else self._result(requirement, visit, within, end, several)

    @cached_property
    def _served(self) -> set[Key]:
        """What some line asks in a visit of this log: what was done of it was done for that line."""
        return {key for requirement, key in self._case.by_sheets.keyed if self._case.visits[id(requirement)]}

    def _by_word(self, requirement: Requirement) -> list[Observation]:
        """`set mode self-use` serves what a sheet wrote as `set mode self-use`."""
        if (
            row_of(requirement.kind).judged != "setting"
            or not requirement.place
            or requirement.limits != NO_LIMITS
        ):
            return []
        observations = self._case.evidence.of(Key(requirement.kind, requirement.what.casefold(), ""))
        return [obs for obs in observations if obs.word.casefold() == requirement.place.casefold()]

    # ---- one requirement -----------------------------------------------------------------------------
    def _result(
        self,
        requirement: Requirement,
        visit: VisitPeriod,
        observations: Sequence[Observation],
        end: int,
        several: bool,
    ) -> Result:
        change = self._case.part_changed(requirement)
        if change is not None:
            written, since = observations, change.moment.order
            observations = [obs for obs in written if obs.moment.order > since]
            if written and not observations:
                return self._of_another_part(requirement, visit, written[-1], change)
        if self._gone(requirement, observations):
            return self._without(requirement, visit, observations, [])
        fits: list[tuple[Observation, ConditionFit]] = []
        if requirement.condition is not None:
            fits = [(obs, fit(requirement, obs)) for obs in observations]
        counting = [obs for obs, how in fits if how.answer == "yes"] if fits else observations
        live = self._live(requirement, counting)
        how = _FITS
        if not live:
            unsure = [obs for obs, how in fits if how.answer == "doubtful"]
            live = self._live(requirement, unsure)
            counting = counting or unsure
            if live:
                how = next(how for obs, how in fits if obs is self._decisive(requirement, live))
        if not live:
            misfits = [pair for pair in fits if pair[1].answer == "no"]
            return self._without(requirement, visit, counting, misfits)
        obs = self._decisive(requirement, live)
        if fits and fits[-1][0] is not obs:
            others = [(other, how) for other, how in fits if other in self._live(requirement, [other])]
            newer = newer_failure(requirement, obs, others, self._fails(requirement), self._case.by_sheets)
            obs, how = newer or (obs, how)
        outcome = self._outcome(requirement, obs)
        reasons = list(outcome.reasons)
        reasons += stated_otherwise(requirement, obs, self._case.states)
        if how.answer != "yes":
            message = f"{requirement.name}: {how.why}"
            reasons.append(Reason("doubtful", "wrong-test-voltage", message, "measure again as asked"))
        reasons += self._order.reasons(requirement, obs)
        reasons += self._reopening.reasons(requirement, obs, observations, end)
        reworks = (
            sum(other.mode in _COUNTING for other in live) - 1 if row_of(requirement.kind).worked_on else 0
        )
        verdict, ranked = (worst(reasons), by_rank(reasons, requirement.place)) if reasons else ("pass", ())
        previous = self._case.previous(requirement, obs) if several else None
        drop = dict(outcome.computed).get("drop") if outcome.computed else None
        return _new(
            Result,
            (
                requirement.kind,
                requirement.what,
                requirement.place,
                visit.index,
                verdict,
                ranked,
                requirement,
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

    def _live(self, requirement: Requirement, observations: Iterable[Observation]) -> list[Observation]:
        """The observations that count. A re-torque check serves what is asked again and again.

        It does so in a visit after the install only, and puts nothing right that was wrong before, but for a
        joint that was too loose: what holds at a torque is at least that tight.
        """
        if requirement.every is None:
            return [obs for obs in observations if obs.mode in _COUNTING]
        live: list[Observation] = []
        for obs in observations:
            is_check = obs.mode in _CHECKS and self._case.log.visits[obs.moment.visit].purpose != INSTALL
            if obs.mode in _COUNTING or (
                is_check and not (live and self._stays_wrong(requirement, live[-1]))
            ):
                live.append(obs)
        return live

    def _stays_wrong(self, requirement: Requirement, obs: Observation) -> bool:
        return worst(self._outcome(requirement, obs).reasons) in FAILING - {"under"}

    def _decisive(self, requirement: Requirement, live: Sequence[Observation]) -> Observation:
        """The newest; of readings under several conditions (0 and 180 degrees) the worst of them."""
        by_name = row_of(requirement.kind).measures == "by name"
        if not by_name or len(live) == 1 or len({obs.condition_key for obs in live}) < 2:
            return live[-1]
        kinds = [condition.kind for condition in requirement.conditions]
        standing: dict[str, Observation] = {}  # a value without an angle says nothing of either half cycle
        for obs in reversed(live):
            standing.setdefault(comparable_key(obs, kinds), obs)
        verdicts = [(worst(self._outcome(requirement, obs).reasons), obs) for obs in standing.values()]
        lowest = worst_of(verdict for verdict, _ in verdicts)
        return next(obs for verdict, obs in verdicts if verdict == lowest)

    def _fails(self, requirement: Requirement) -> Callable[[Observation], bool]:
        return lambda obs: worst(self._outcome(requirement, obs).reasons) in FAILING

    def _outcome(self, requirement: Requirement, obs: Observation) -> Outcome:
        context = self._contexts.get(requirement.sheet)
        if context is None:
            context = self._contexts[requirement.sheet] = self._case.rule_context(requirement)
        return RULES[requirement.kind](requirement, obs, context)

    def _gone(self, requirement: Requirement, observations: Sequence[Observation]) -> bool:
        """Whether a part was taken away by a visit that takes nothing down, and nothing was put back."""
        if row_of(requirement.kind).judged != "serial":
            return False
        away = self._case.away.get(self._case.names.place(requirement.place))
        return away is not None and not self._case.is_dismantling(away) and bool(observations)

    def _of_another_part(
        self, requirement: Requirement, visit: VisitPeriod, obs: Observation, change: Observation
    ) -> Result:
        """The verdict where all evidence is that of a part which sits there no more; `obs` is the newest."""
        away = self._case.away.get(self._case.names.place(requirement.place))
        is_gone = away is not None and self._case.is_dismantling(away)
        if is_gone or self._case.closed or self._case.excuse_of(requirement):
            return self._without(requirement, visit, [], [])
        did = "swapped" if change.mode == "swap" else "removed"
        message = f"{_missing(requirement)}: {change.place} was {did} in line {change.line}"
        reason = Reason(
            "missing", "missing", message, "do it again for the part that sits there now", change.moment.visit
        )
        return Result(
            requirement.kind,
            requirement.what,
            requirement.place,
            visit.index,
            "missing",
            by_rank([reason], requirement.place),
            requirement,
            limits=requirement.limits,
            near=obs,
        )

    def _without(
        self,
        requirement: Requirement,
        visit: VisitPeriod,
        observations: Sequence[Observation],
        misfits: list[tuple[Observation, ConditionFit]],
    ) -> Result:
        """The verdict where nothing was done that counts."""
        last = observations[-1] if observations else None
        near: Observation | None = None
        place = self._case.names.place(requirement.place)
        if excuse := self._case.excuse_of(requirement):
            return _not_applicable(requirement, visit, f"does not apply: {excuse.head.entry.remark}")
        away = self._case.away.get(place)
        if away is not None and self._case.is_dismantling(away):
            return _not_applicable(requirement, visit, "was removed")
        if self._case.closed and requirement.visit != REMOVAL:
            return _not_applicable(requirement, visit, "everything was removed")
        modes = {obs.mode for obs in observations}
        if "not-tested" in modes:
            why = last.record.head.entry.remark if last is not None else ""
            reason = Reason(
                "not-tested",
                "not-tested",
                f"{requirement.name} was not tested" + (f": {why}" if why else ""),
                "test it, or have a lead write `n/a`",
            )
        elif "pre" in modes:
            reason = Reason(
                "pre-only",
                "pre-only",
                f"{requirement.place} is only pre-tightened",
                "tighten it and write the final value",
            )
        elif away is not None and self._gone(requirement, observations):
            near = away
            message = f"missing: {requirement.name}, removed in line {away.line} and nothing put back"
            help = "write the serial that sits there now; or have a lead write `n/a` with the reason"
            reason = Reason("missing", "missing", message, help, away.moment.visit)
        elif "loosed" in modes or "removed" in modes:
            reason = Reason("reopened", "reopened", f"{requirement.place} was undone and not done again")
        elif misfits:
            near, how = misfits[-1]
            slug = (
                "wrong-test-voltage"
                if requirement.condition is not None and requirement.condition.kind == "voltage"
                else "missing"
            )
            reason = Reason("missing", slug, f"{requirement.name}: {how.why}", "measure again as asked")
        else:
            message = _missing(requirement)
            if visit.purpose != INSTALL and (due := self._case.due_after(requirement, visit.index)):
                message += f", due since {due}"
            reason = Reason("missing", "missing", message)
        reasons = [reason]
        if last is not None and last.mode in ("pre", "loosed"):
            reasons += self._order.while_(requirement, last)
        kind, what, place = requirement.kind, requirement.what, requirement.place
        verdict, ranked = worst(reasons), by_rank(reasons, place)
        stands = last if reason.verdict != "missing" else None
        limits = requirement.limits
        return Result(
            kind, what, place, visit.index, verdict, ranked, requirement, stands, limits=limits, near=near
        )

    def due_again(self, result: Result) -> date | None:
        """The day on which what `every` asks is due the next time; None where nothing says so.

        It counts from the newest good observation; a site that was taken down has nothing due.
        """
        requirement, obs = result.requirement, result.observation
        if requirement is None or requirement.every is None or result.verdict == NOT_APPLICABLE:
            return None
        if self._case.closed:
            return None
        if result.open:
            return self._case.due_after(requirement, len(self._case.log.visits))
        if obs is None or obs.moment.day is None:
            return None
        return later(obs.moment.day, requirement.every.months, requirement.every.days)

    # ---- what no sheet asks --------------------------------------------------------------------------
    def _unasked(self, key: Key, observations: Sequence[Observation]) -> Result:
        live = [obs for obs in observations if obs.live or obs.mode == "swap"]
        obs = live[-1] if live else observations[-1]
        # What is asked and still comes here is a reading that a spread is made of.
        why = "only its spread has a limit" if key in self._case.evidence.asked_keys else "no sheet asks this"
        reason = Reason("no-limit", "no-limit", why)
        previous = live[-2] if len(live) > 1 else None
        if wrong := unasked_reasons(obs, self._case.box):
            return Result(
                key.kind,
                obs.what,
                obs.place,
                obs.moment.visit,
                worst(wrong),
                by_rank(wrong, obs.place),
                None,
                obs,
                previous=previous,
            )
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


def _not_applicable(requirement: Requirement, visit: VisitPeriod, why: str) -> Result:
    reason = Reason(NOT_APPLICABLE, "", why)
    kind, what, place = requirement.kind, requirement.what, requirement.place
    return Result(
        kind, what, place, visit.index, NOT_APPLICABLE, (reason,), requirement, limits=requirement.limits
    )


def _missing(requirement: Requirement) -> str:
    """What is missing, in words."""
    asks = (
        [requirement.limits.text]
        if requirement.limits.text and row_of(requirement.kind).judged != "two sizes"
        else []
    )
    asks += [limits.text for _, limits in requirement.items]
    if requirement.wait is not None:
        after = f" after {', '.join(requirement.after)}" if requirement.after else ""
        asks.append(f"{format_quantity(requirement.wait)}{after}")
    return f"missing: {requirement.name}" + (f" ({', '.join(asks)})" if asks else "")

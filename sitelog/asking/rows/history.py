"""Every time a thing was written, as rows like those of what stands; what was struck has no verdict."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator

from sitelog.asking.rows import paper, work
from sitelog.asking.rows.common import Cells, Row, common, day_of, in_words, states_of
from sitelog.asking.subjects import HISTORIES, MAIN_COLUMNS
from sitelog.base.frozen import NamedTuple, replace
from sitelog.base.verdicts import Reason, by_rank, worst
from sitelog.judging.evidence import fit
from sitelog.judging.judged import Site
from sitelog.judging.results import Result
from sitelog.judging.site import Observation
from sitelog.judging.tools import NOTHING, instrument_of
from sitelog.judging.values import RULES, Outcome, RuleContext
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Requirement

_MODE_VERDICTS = {"pre": "pre-only", "loosed": "reopened", "not-tested": "not-tested"}
_JUDGED = frozenset({"final", "click", "held", "moved", "swap"})


class _Once(NamedTuple):
    """One thing at one place, as it was written once."""

    observation: Observation
    results: tuple[Result, ...]  # what stands, or what it would be worth; several where several sheets ask it
    stands: bool
    struck: bool


def history_of(site: Site, subject: str) -> list[Row]:
    """The rows of one subject's history, in the order in which they were written."""
    names = [column.name for column in HISTORIES[subject].all_columns]
    made = _parts(site) if subject == "parts" else _marks(site, subject)
    return [tuple(map(cells.get, names)) for cells in made]


_Maker = Callable[[Site, Iterable[Result]], Iterator[Cells]]
_OF: dict[str, tuple[tuple[str, ...], _Maker]] = {
    "joints": (("joint",), work.joints),
    "readings": (("reading", "dead"), work.readings),
    "holes": (("hole",), work.holes),
    "looks": (("look",), work.looks),
    "settings": (("set",), work.settings),
    "cables": (("cable",), work.cables),
    "steps": (("step",), work.steps),
    "series": (("series",), work.series),
    "photos": (("photo",), paper.photos),
}


def _marks(site: Site, subject: str) -> Iterator[Cells]:
    kinds, cells_of = _OF[subject]
    last: dict[tuple[str, ...], tuple[object, str | None]] = {}
    for once in _written(site, frozenset(kinds)):
        obs = once.observation
        what = "" if subject == "photos" else obs.what.casefold()  # of a photo it is the file
        key = (obs.kind, what, site.judge.names.place(obs.place), obs.condition_key)
        now: object = None
        for cells in cells_of(site, once.results):
            now = cells.get(MAIN_COLUMNS[subject])
            cells["previous"], day = last.get(key, (None, None))
            cells["previous_day"] = cells.get("previous_day") or day
            if once.struck:
                reason = "struck: does not count"
                cells |= {"verdict": None, "reasons": reason, "margin": None, "probability": None}
                cells["states"] = _states(site, obs, "struck")
            elif not once.stands and obs.live:
                cells["states"] = f"{cells['states']}replaced "
            yield cells
        if obs.live and not once.struck and now is not None:
            last[key] = now, day_of(obs)


def _states(site: Site, obs: Observation, *words: str) -> str:
    signed = "signed" if (obs.file, obs.line) in site.signed else "unsigned"
    return f" {' '.join((*words, signed))} "


def _written(site: Site, kinds: frozenset[str]) -> Iterator[_Once]:
    standing: dict[object, list[Result]] = defaultdict(list)
    for result in site.results:
        if result.observation is not None and result.kind in kinds:
            standing[result.observation.id].append(result)
    asked: dict[object, list[Requirement]] = defaultdict(list)
    for one in site.judge.asked:
        if one.kind in kinds:
            asked[site.judge.names.asked(one)].append(one)
    for written in site.log.entries:
        for obs in written.observations:
            if obs.kind not in kinds:
                continue
            results = tuple(standing.get(obs.id, ()))
            if results:
                yield _Once(obs, results, True, False)
                continue
            of_it = asked.get(site.judge.names.observation(obs), ())
            fitting = [one for one in of_it if fit(one, obs).answer != "no"]
            once = tuple(judged_once(site, one, obs) for one in fitting) or (judged_once(site, None, obs),)
            yield _Once(obs, once, False, obs.id in site.log.struck.observations)


def judged_once(site: Site, one: Requirement | None, obs: Observation) -> Result:
    """What a mark was worth that does not stand (any more), by the sheet that asks it."""
    outcome, verdict = _outcome(site, one, obs)
    return Result(
        obs.kind,
        obs.what,
        one.place if one is not None else obs.place,
        obs.moment.visit,
        verdict,
        by_rank(outcome.reasons),
        one,
        obs,
        outcome.limits,
        outcome.margin,
        outcome.probability,
        outcome.instrument,
    )


def _outcome(site: Site, one: Requirement | None, obs: Observation) -> tuple[Outcome, str]:
    judge = site.judge
    if one is None or obs.mode not in _JUDGED:
        is_measured = obs.value is not None and bool(row_of(obs.kind).measures)
        tool = instrument_of(obs, judge.box) if is_measured else NOTHING
        verdict = _MODE_VERDICTS.get(obs.mode, "no-limit")
        reasons = (Reason("no-limit", "", "no sheet asks this"),) if verdict == "no-limit" else ()
        outcome = Outcome(reasons, instrument=tool)
        return (replace(outcome, limits=one.limits) if one is not None else outcome), verdict
    around = RuleContext(judge.box, judge.guards.get(one.sheet, 0.0), judge.device, trial=judge.trial)
    outcome = RULES[one.kind](one, obs, around)
    outcome = replace(outcome, reasons=(*outcome.reasons, *judge.order.reasons(one, obs)))
    return outcome, worst(outcome.reasons)


def _parts(site: Site) -> Iterator[Cells]:
    """Every stay of a serial at a place."""
    by_place: dict[str, Requirement] = {}
    for one in site.judge.asked:
        if one.kind == "part":
            by_place.setdefault(site.judge.names.place(one.place), one)
    for stay in site.placements:
        asked = by_place.get(site.judge.names.place(stay.place))
        outcome, verdict = _outcome(site, asked, stay.since)
        more = ("replaced",) if stay.until is not None else ()
        yield common(site, stay.since) | {
            "sheet": asked.sheet if asked is not None else None,
            "source": (asked.source or None) if asked is not None else None,
            "verdict": verdict,
            "reasons": in_words(by_rank(outcome.reasons)),
            "states": states_of(site, verdict, outcome.reasons, stay.since, *more),
            "part": stay.place,
            "serial": stay.serial,
            "since": day_of(stay.since),
            "until": day_of(stay.until),
            "moved_from": stay.moved_from or None,
            "moved_to": stay.moved_to or None,
            "previous": stay.previous or None,
            "registered": stay.registered or None,
        }

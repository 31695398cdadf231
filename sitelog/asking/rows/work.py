"""Results → the rows of the work: joints, readings, parts, holes, looks, steps, trials, cables, settings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sitelog.asking.rows.common import (
    Cells,
    common,
    day_of,
    in_words,
    is_final,
    of_result,
    states_of,
    uncertainty,
)
from sitelog.base.verdicts import by_rank, worst
from sitelog.judging.electric import figures
from sitelog.judging.insulation import before_at_any_temperature, corrected
from sitelog.judging.judged import Site
from sitelog.judging.results import Result
from sitelog.judging.site import Observation
from sitelog.judging.tools import NOTHING, instrument_of
from sitelog.judging.values import RULES, Outcome, RuleContext
from sitelog.language.kinds.electric import Cable
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.step import Did


def joints(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if result.kind == "joint":
            obs = result.observation
            cells = of_result(site, result)
            cells |= {
                "place": result.place,
                "value": obs.value if obs is not None else None,
                "unit": obs.value.unit if obs is not None and obs.value is not None else None,
                "target": result.limits.target,
                "final": int(is_final(obs)),
                "reworks": result.reworks,
                "previous": result.previous.value if result.previous is not None else None,
            }
            yield cells


def torques(site: Site) -> Iterator[Cells]:
    """Every tightening as written: what stands, what was replaced and what was struck."""
    current = {
        result.observation.id: result
        for result in site.results
        if result.kind == "joint" and result.observation is not None
    }
    by_place = {site.judge.names.asked(one): one for one in site.judge.asked if one.kind == "joint"}
    last: dict[str, Observation] = {}
    for one in site.log.entries:
        for obs in one.observations:
            if obs.kind != "joint":
                continue
            struck = obs.id in site.log.struck.observations
            place = site.judge.names.place(obs.place)
            result = current.get(obs.id)
            asked = by_place.get(site.judge.names.observation(obs))
            if struck:  # it is out of every verdict, and still readable
                outcome = Outcome(
                    instrument=instrument_of(obs, site.judge.box) if obs.value is not None else NOTHING
                )
                verdict = ""
            elif result is not None:
                tool = result.instrument
                if not tool.name and obs.value is not None:
                    tool = instrument_of(obs, site.judge.box)
                outcome = Outcome(result.reasons, result.limits, result.margin, result.probability, tool)
                verdict = result.verdict
            else:
                around = RuleContext(
                    site.judge.box,
                    site.judge.guards.get(asked.sheet, 0.0) if asked else 0.0,
                    site.judge.device,
                )
                if (
                    asked is not None
                    and obs.value is not None
                    and obs.mode in ("final", "click", "held", "moved")
                ):
                    outcome = RULES["joint"](asked, obs, around)
                    verdict = worst(outcome.reasons)
                else:
                    outcome = Outcome(
                        instrument=instrument_of(obs, site.judge.box) if obs.value is not None else NOTHING
                    )
                    verdict = _MODE_VERDICTS.get(obs.mode, "no-limit")
            previous = last.get(place)
            more = (
                ["struck"]
                if struck
                else ["replaced"]
                if result is None and obs.live and asked is not None
                else []
            )
            if obs.live:
                more.append("final")
            if obs.mode in ("pre", "held", "moved", "loosed", "click"):
                more.append(obs.mode)
            cells = common(site, obs, outcome.instrument)
            cells |= {
                "sheet": asked.sheet if asked is not None else None,
                "source": (asked.source or None) if asked is not None else None,
                "verdict": verdict or None,
                "reasons": in_words(by_rank(outcome.reasons)) if not struck else "struck: does not count",
                "states": states_of(site, verdict, outcome.reasons, obs, *more),
                "place": obs.place,
                "value": obs.value,
                "unit": obs.value.unit if obs.value is not None else None,
                "target": asked.limits.target if asked is not None else None,
                "low": asked.limits.low if asked is not None else None,
                "high": asked.limits.high if asked is not None else None,
                "margin": outcome.margin,
                "probability": outcome.probability,
                "uncertainty": uncertainty(outcome.instrument, obs.value),
                "final": int(obs.live),
                "reworks": result.reworks if result is not None else 0,
                "previous": previous.value if previous is not None else None,
                "mode": obs.mode,
            }
            yield cells
            if obs.live and not struck:
                last[place] = obs


_MODE_VERDICTS = {"pre": "pre-only", "loosed": "reopened", "not-tested": "not-tested"}


def readings(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if row_of(result.kind).subject != "readings":
            continue
        obs, one = result.observation, result.requirement
        record = obs.record if obs is not None else None
        value = result.value if result.kind == "spread" else obs.value if obs is not None else None
        warm = before_at_any_temperature(site.judge.evidence, obs)
        cells = of_result(site, result)
        cells |= {
            "what": "dead"
            if result.kind == "dead"
            else f"{result.what}-spread"
            if result.kind == "spread"
            else result.what,
            "points": result.place or None,
            "value": value,
            "at": ", ".join(condition.text for condition in obs.conditions) or None
            if obs is not None
            else None,
            "condition": one.condition.text if one is not None and one.condition is not None else None,
            "previous": result.previous.value if result.previous is not None else None,
            "corrected": corrected(obs),
            "corrected_previous": corrected(warm),
            "previous_day": day_of(warm) or day_of(result.previous),
            "displayed": record.displayed or None if isinstance(record, Reading) else None,
            "answer": obs.word or None if obs is not None else None,
        }
        yield cells


def parts(site: Site) -> Iterator[Cells]:
    """Who sits where now, and what is still asked."""
    by_place = {
        site.judge.names.place(result.place): result for result in site.results if result.kind == "part"
    }
    present: set[str] = set()
    for stay in site.placements:
        place = site.judge.names.place(stay.place)
        result = by_place.get(place)
        if stay.until is not None and stay.until.mode != "removed":
            continue  # another serial sits there now: history
        present.add(place)
        cells = of_result(site, result) if result is not None else common(site, stay.since)
        yield cells | {
            "part": stay.place,
            "serial": stay.serial,
            "since": day_of(stay.since),
            "until": day_of(stay.until),
            "moved_from": stay.moved_from or None,
            "moved_to": stay.moved_to or None,
            "previous": stay.previous or None,
            "registered": stay.registered or None,
        }
    for place, result in by_place.items():
        if place not in present:
            yield of_result(site, result) | {"part": result.place}


def holes(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "holes":
            obs, one = result.observation, result.requirement
            cells = of_result(site, result)
            cells |= {
                "place": result.place,
                "diameter": obs.value if obs is not None else None,
                "depth": obs.second if obs is not None else None,
                "diameter_low": one.limits.low if one is not None else None,
                "diameter_high": one.limits.high if one is not None else None,
                "depth_low": one.second.low if one is not None else None,
                "depth_high": one.second.high if one is not None else None,
            }
            yield cells


def looks(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "looks":
            wanted = result.requirement.limits.word or "ok" if result.requirement is not None else None
            answer = result.observation.word or None if result.observation is not None else None
            cells = of_result(site, result)
            cells |= {
                "what": result.what, "place": result.place or None, "value": answer, "wanted": wanted,
            }  # fmt: skip
            yield cells


def steps(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "steps":
            one, record = (
                result.requirement,
                result.observation.record if result.observation is not None else None,
            )
            cells = of_result(site, result)
            cells |= {
                "step": result.what,
                "waited": record.waited if isinstance(record, Did) else None,
                "wanted": one.wait if one is not None else None,
                "before": ", ".join(one.before) or None if one is not None else None,
                "after": ", ".join(one.after) or None if one is not None else None,
            }
            yield cells


def series(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "series":
            yield of_result(site, result) | {"what": result.what} | _trial_cells(site, result)


def _trial_cells(site: Site, result: Result) -> Cells:
    """The figures of a trial's file, where it could be read."""
    obs = result.observation
    trial = site.judge.trial(obs) if obs is not None else None
    if obs is None or trial is None:
        return {}
    from sitelog.judging.trials import figures_of

    return {"trial": obs.word} | figures_of(result.requirement, obs, trial)


def cables(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if row_of(result.kind).subject != "cables":
            continue
        cable = result.observation.record if result.observation is not None else None
        cells = of_result(site, result) | {"place": result.place}
        if isinstance(cable, Cable):
            computed = figures(cable)
            cells |= {
                "size": cable.size,
                "metal": cable.metal or None,
                "length": cable.length,
                "current": cable.current,
                "voltage": cable.voltage,
                "system": cable.system or None,
                "drop": float(computed.drop.base) if computed.drop is not None else None,
                "drop_volts": computed.drop_volts,
                "loss": computed.loss,
                "resistance": computed.resistance,
                "temperature": computed.temperature,
                "capacity": cable.capacity,
                "fuse": cable.fuse,
                "adiabatic": computed.adiabatic,
                "basis": "; ".join(filter(None, (computed.basis, computed.fault_basis))) or None,
            }
        yield cells


def settings(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "settings":
            cells = of_result(site, result)
            cells |= {
                "what": result.what,
                "place": result.place or None,
                "value": result.observation.word if result.observation is not None else None,
                "wanted": result.limits.text or None,
            }
            yield cells

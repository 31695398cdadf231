"""Results → the rows of the work: joints, readings, parts, holes, looks, steps, trials, cables, settings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sitelog.asking.rows.common import (
    Cells,
    day_of,
    in_words,
    of_instrument,
    of_measured,
    of_observation,
    of_result,
    of_work,
    spellings_of,
    states_of,
    tool_of,
    uncertainty,
)
from sitelog.base.verdicts import by_rank, worst
from sitelog.judging.electric import figures
from sitelog.judging.insulation import before_at_any_temperature, corrected
from sitelog.judging.judged import Site
from sitelog.judging.outcomes import instrument_behind, outcome_of, verdict_of_mode
from sitelog.judging.results import Result
from sitelog.judging.rule import Outcome
from sitelog.judging.site import Observation
from sitelog.language.kinds.electric import Cable
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.step import Did


def joints(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    """What stands for each joint."""
    for result in site.results if results is None else results:
        if result.kind == "joint":
            obs = result.observation
            cells = of_measured(site, result)
            cells |= {
                "place": result.place,
                "same": spellings_of(site, result.place),
                "value": obs.value if obs is not None else None,
                "unit": obs.value.unit if obs is not None and obs.value is not None else None,
                "target": result.limits.target,
                "final": int(obs is not None and obs.live),
                "mode": obs.mode if obs is not None else None,
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
    by_place = {site.case.names.asked(one): one for one in site.requirements if one.kind == "joint"}
    last: dict[str, Observation] = {}
    for one in site.log.entries:
        for obs in one.observations:
            if obs.kind != "joint":
                continue
            struck = obs.id in site.log.struck.observations
            place = site.case.names.place(obs.place)
            result = current.get(obs.id)
            asked = by_place.get(site.case.names.observation(obs))
            if struck:  # it is out of every verdict, and still readable
                outcome, verdict = Outcome(instrument=instrument_behind(site.case, obs)), ""
            elif result is not None:
                tool = result.instrument if result.instrument.name else instrument_behind(site.case, obs)
                outcome = Outcome(result.reasons, result.limits, result.margin, result.probability, tool)
                verdict = result.verdict
            elif asked is not None and obs.value is not None and obs.mode in _WITH_A_VALUE:
                outcome = outcome_of(site.case, asked, obs)
                verdict = worst(outcome.reasons)
            else:
                outcome = Outcome(instrument=instrument_behind(site.case, obs))
                verdict = verdict_of_mode(obs)
            previous = last.get(place)
            more = ["struck"] if struck else ["replaced"] if obs.id in site.replaced else []
            if obs.live:
                more.append("final")
            if obs.mode in ("pre", "held", "moved", "loosed", "click"):
                more.append(obs.mode)
            cells = of_observation(site, obs)
            cells |= of_instrument(obs, outcome.instrument)
            cells |= {
                "sheet": asked.sheet if asked is not None else None,
                "source": (asked.source or None) if asked is not None else None,
                "verdict": verdict or None,
                "reasons": in_words(by_rank(outcome.reasons)) if not struck else "struck: does not count",
                "states": states_of(site, verdict, outcome.reasons, obs, *more),
                "place": obs.place,
                "same": spellings_of(site, obs.place),
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


_WITH_A_VALUE = frozenset({"final", "click", "held", "moved"})


def readings(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    """What stands for each reading, each test for dead and each spread."""
    for result in site.results if results is None else results:
        if row_of(result.kind).subject != "readings":
            continue
        obs, one = result.observation, result.requirement
        record = obs.record if obs is not None else None
        value = result.value if result.kind == "spread" else obs.value if obs is not None else None
        warm = before_at_any_temperature(site.case.evidence, obs)
        cells = of_measured(site, result)
        cells |= {
            "what": "dead"
            if result.kind == "dead"
            else f"{result.what}-spread"
            if result.kind == "spread"
            else result.what,
            "points": result.place or None,
            "same": spellings_of(site, result.place),
            "value": value,
            "at": ", ".join(condition.text for condition in obs.conditions) or None
            if obs is not None
            else None,
            "condition": one.at or None if one is not None else None,
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
        site.case.names.place(result.place): result for result in site.results if result.kind == "part"
    }
    present: set[str] = set()
    newest = {site.case.names.place(stay.place): stay for stay in site.placements}
    for stay in site.placements:
        place = site.case.names.place(stay.place)
        result = by_place.get(place)
        if stay is not newest[place]:
            continue  # another serial sits there now: history
        present.add(place)
        if result is not None:
            cells = of_work(site, result)
        else:
            cells = of_observation(site, stay.since) | {"tool": tool_of(stay.since)}
        yield cells | {
            "part": stay.place,
            "same": spellings_of(site, stay.place),
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
            yield of_work(site, result) | {"part": result.place, "same": spellings_of(site, result.place)}


def holes(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    """What stands for each hole."""
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "holes":
            obs, requirement = result.observation, result.requirement
            cells = of_work(site, result)
            cells |= {
                "place": result.place,
                "same": spellings_of(site, result.place),
                "diameter": obs.value if obs is not None else None,
                "depth": obs.second if obs is not None else None,
                "diameter_low": requirement.limits.low if requirement is not None else None,
                "diameter_high": requirement.limits.high if requirement is not None else None,
                "depth_low": requirement.second.low if requirement is not None else None,
                "depth_high": requirement.second.high if requirement is not None else None,
            }
            yield cells


def looks(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    """What stands for each look."""
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "looks":
            wanted = result.requirement.limits.word or "ok" if result.requirement is not None else None
            answer = result.observation.word or None if result.observation is not None else None
            cells = of_work(site, result)
            cells |= {
                "what": result.what,
                "place": result.place or None,
                "same": spellings_of(site, result.place),
                "value": answer,
                "wanted": wanted,
            }
            yield cells


def steps(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    """What stands for each step."""
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "steps":
            requirement, record = (
                result.requirement,
                result.observation.record if result.observation is not None else None,
            )
            cells = of_work(site, result)
            cells |= {
                "step": result.what,
                "waited": record.waited if isinstance(record, Did) else None,
                "wanted": requirement.wait if requirement is not None else None,
                "before": ", ".join(requirement.before) or None if requirement is not None else None,
                "after": ", ".join(requirement.after) or None if requirement is not None else None,
            }
            yield cells


def series(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    """What stands for each trial."""
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "series":
            cells = of_work(site, result) | {"what": result.what, "margin": result.margin}
            yield cells | _trial_cells(site, result)


def _trial_cells(site: Site, result: Result) -> Cells:
    """The figures of a trial's file, where it could be read."""
    obs = result.observation
    trial = site.case.trial(obs) if obs is not None else None
    if obs is None or trial is None:
        return {}
    from sitelog.judging.trial_figures import figures_of

    return {"trial": obs.word} | figures_of(result.requirement, obs, trial)


def cables(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    """What stands for each cable, with what follows from its size and current."""
    for result in site.results if results is None else results:
        if row_of(result.kind).subject != "cables":
            continue
        cable = result.observation.record if result.observation is not None else None
        cells = of_result(site, result) | {"place": result.place, "margin": result.margin}
        cells["same"] = spellings_of(site, result.place)
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
    """What stands for each setting."""
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "settings":
            cells = of_work(site, result)
            cells |= {
                "what": result.what,
                "place": result.place or None,
                "same": spellings_of(site, result.place),
                "value": result.observation.word if result.observation is not None else None,
                "wanted": result.limits.text or None,
            }
            yield cells

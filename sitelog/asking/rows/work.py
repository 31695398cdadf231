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
from sitelog.judging.site import Mark
from sitelog.judging.tools import NOTHING, behind
from sitelog.judging.values import RULES, Around, Outcome
from sitelog.language.kinds.electric import Cable
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.step import Did


def joints(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if result.kind == "joint":
            mark = result.mark
            cells = of_result(site, result)
            cells |= {
                "place": result.place,
                "value": mark.value if mark is not None else None,
                "unit": mark.value.unit if mark is not None and mark.value is not None else None,
                "target": result.limits.target,
                "final": int(is_final(mark)),
                "reworks": result.reworks,
                "previous": result.previous.value if result.previous is not None else None,
            }
            yield cells


def torques(site: Site) -> Iterator[Cells]:
    """Every tightening as written: what stands, what was replaced and what was struck."""
    current = {
        result.mark.id: result
        for result in site.results
        if result.kind == "joint" and result.mark is not None
    }
    by_place = {site.judge.names.asked(one): one for one in site.judge.asked if one.kind == "joint"}
    last: dict[str, Mark] = {}
    for one in site.log.written:
        for mark in one.marks:
            if mark.kind != "joint":
                continue
            struck = mark.id in site.log.struck.marks
            place = site.judge.names.place(mark.place)
            result = current.get(mark.id)
            asked = by_place.get(site.judge.names.mark(mark))
            if struck:  # it is out of every verdict, and still readable
                outcome = Outcome(behind=behind(mark, site.judge.box) if mark.value is not None else NOTHING)
                verdict = ""
            elif result is not None:
                tool = result.behind
                if not tool.name and mark.value is not None:
                    tool = behind(mark, site.judge.box)
                outcome = Outcome(result.reasons, result.limits, result.margin, result.probability, tool)
                verdict = result.verdict
            else:
                around = Around(
                    site.judge.box,
                    site.judge.guards.get(asked.sheet, 0.0) if asked else 0.0,
                    site.judge.device,
                )
                if (
                    asked is not None
                    and mark.value is not None
                    and mark.mode in ("final", "click", "held", "moved")
                ):
                    outcome = RULES["joint"](asked, mark, around)
                    verdict = worst(outcome.reasons)
                else:
                    outcome = Outcome(
                        behind=behind(mark, site.judge.box) if mark.value is not None else NOTHING
                    )
                    verdict = _MODE_VERDICTS.get(mark.mode, "no-limit")
            previous = last.get(place)
            more = (
                ["struck"]
                if struck
                else ["replaced"]
                if result is None and mark.live and asked is not None
                else []
            )
            if mark.live:
                more.append("final")
            if mark.mode in ("pre", "held", "moved", "loosed", "click"):
                more.append(mark.mode)
            cells = common(site, mark, outcome.behind)
            cells |= {
                "sheet": asked.sheet if asked is not None else None,
                "source": (asked.source or None) if asked is not None else None,
                "verdict": verdict or None,
                "reasons": in_words(by_rank(outcome.reasons)) if not struck else "struck: does not count",
                "states": states_of(site, verdict, outcome.reasons, mark, *more),
                "place": mark.place,
                "value": mark.value,
                "unit": mark.value.unit if mark.value is not None else None,
                "target": asked.limits.target if asked is not None else None,
                "low": asked.limits.low if asked is not None else None,
                "high": asked.limits.high if asked is not None else None,
                "margin": outcome.margin,
                "probability": outcome.probability,
                "uncertainty": uncertainty(outcome.behind, mark.value),
                "final": int(mark.live),
                "reworks": result.reworks if result is not None else 0,
                "previous": previous.value if previous is not None else None,
                "mode": mark.mode,
            }
            yield cells
            if mark.live and not struck:
                last[place] = mark


_MODE_VERDICTS = {"pre": "pre-only", "loosed": "reopened", "not-tested": "not-tested"}


def readings(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if result.kind not in ("reading", "dead", "spread"):
            continue
        mark, one = result.mark, result.asked
        record = mark.record if mark is not None else None
        value = result.value if result.kind == "spread" else mark.value if mark is not None else None
        warm = before_at_any_temperature(site.judge.evidence, mark)
        cells = of_result(site, result)
        cells |= {
            "what": "dead"
            if result.kind == "dead"
            else f"{result.what}-spread"
            if result.kind == "spread"
            else result.what,
            "points": result.place or None,
            "value": value,
            "at": ", ".join(condition.text for condition in mark.conditions) or None
            if mark is not None
            else None,
            "condition": one.condition.text if one is not None and one.condition is not None else None,
            "previous": result.previous.value if result.previous is not None else None,
            "corrected": corrected(mark),
            "corrected_previous": corrected(warm),
            "previous_day": day_of(warm) or day_of(result.previous),
            "displayed": record.displayed or None if isinstance(record, Reading) else None,
            "answer": mark.word or None if mark is not None else None,
        }
        yield cells


def parts(site: Site) -> Iterator[Cells]:
    """Who sits where now, and what is still asked."""
    by_place = {
        site.judge.names.place(result.place): result for result in site.results if result.kind == "part"
    }
    present: set[str] = set()
    for stay in site.stays:
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
        if result.kind == "hole":
            mark, one = result.mark, result.asked
            cells = of_result(site, result)
            cells |= {
                "place": result.place,
                "diameter": mark.value if mark is not None else None,
                "depth": mark.second if mark is not None else None,
                "diameter_low": one.limits.low if one is not None else None,
                "diameter_high": one.limits.high if one is not None else None,
                "depth_low": one.second.low if one is not None else None,
                "depth_high": one.second.high if one is not None else None,
            }
            yield cells


def looks(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if result.kind == "look":
            wanted = result.asked.limits.word or "ok" if result.asked is not None else None
            answer = result.mark.word or None if result.mark is not None else None
            cells = of_result(site, result)
            cells |= {
                "what": result.what, "place": result.place or None, "value": answer, "wanted": wanted,
            }  # fmt: skip
            yield cells


def steps(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if result.kind == "step":
            one, record = result.asked, result.mark.record if result.mark is not None else None
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
        if result.kind == "series":
            yield of_result(site, result) | {"what": result.what} | _trial_cells(site, result)


def _trial_cells(site: Site, result: Result) -> Cells:
    """The figures of a trial's file, where it could be read."""
    mark = result.mark
    trial = site.judge.trial(mark) if mark is not None else None
    if mark is None or trial is None:
        return {}
    from sitelog.judging.trials import figures_of

    return {"trial": mark.word} | figures_of(result.asked, mark, trial)


def cables(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if result.kind != "cable":
            continue
        cable = result.mark.record if result.mark is not None else None
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
        if result.kind == "set":
            cells = of_result(site, result)
            cells |= {
                "what": result.what,
                "place": result.place or None,
                "value": result.mark.word if result.mark is not None else None,
                "wanted": result.limits.text or None,
            }
            yield cells

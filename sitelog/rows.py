"""Results → the rows of each subject, as `sitelog.subjects` has their columns. One function per subject."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date

from sitelog.judge import Judge, Result
from sitelog.judge.defects import flaws
from sitelog.judge.electric import figures
from sitelog.judge.parts import stays
from sitelog.judge.tools import NOTHING, Behind, behind, found_out
from sitelog.judge.values import RULES, Around, Outcome
from sitelog.judged import Site
from sitelog.kinds.electric import Cable
from sitelog.kinds.paper import Sign
from sitelog.kinds.reading import Reading
from sitelog.kinds.step import Did
from sitelog.kinds.tool import Calibration, Tool
from sitelog.quantities import format_quantity
from sitelog.signatures import reason
from sitelog.site import Mark, Written
from sitelog.subjects import SUBJECTS
from sitelog.verdicts import NOT_APPLICABLE, Reason, by_rank, worst

Row = tuple[object, ...]


def rows_of(site: Site) -> dict[str, list[Row]]:
    """The rows of every subject for one site, but for the tools, which belong to no site."""
    return {name: [_row(name, cells) for cells in make(site)] for name, make in _MAKERS.items()}


def _row(subject: str, cells: dict[str, object]) -> Row:
    return tuple(cells.get(column.name) for column in SUBJECTS[subject].all_columns)


Cells = dict[str, object]


# ---- what every row has ----------------------------------------------------------------------------------
def _common(site: Site, mark: Mark | None, behind: Behind = NOTHING) -> Cells:
    cells: Cells = {"site": site.name}
    if mark is None:
        return cells
    head, moment = mark.record.head, mark.moment
    return cells | {
        "visit": site.log.visits[moment.visit].purpose,
        "day": moment.day.isoformat() if moment.day is not None else None,
        "time": str(moment.clock) if moment.clock is not None else None,
        "by": mark.by or None,
        "tool": behind.name or head.tool or None,
        "kit": behind.tool.kit if behind.tool is not None else None,
        "cert": behind.cert or None,
        "tool_due": behind.due.isoformat() if behind.due is not None else None,
        "remark": head.entry.remark or None,
        "file": head.file,
        "line": head.line,
        "text": head.entry.text,
    }


def _states(site: Site, verdict: str, reasons: tuple[Reason, ...], mark: Mark | None, *more: str) -> str:
    words = list(dict.fromkeys([verdict, *(reason.verdict for reason in reasons), *more]))
    if any(reason.slug == "tool-out-of-calibration" for reason in reasons):
        words.append("out-of-calibration")
    if mark is not None:
        words.append("signed" if (mark.file, mark.line) in site.signed else "unsigned")
    return f" {' '.join(words)} "


def _of_result(site: Site, result: Result) -> Cells:
    one = result.asked
    cells = _common(site, result.mark, result.behind)
    if one is not None:
        cells["sheet"] = one.sheet
        cells["source"] = one.source or None
        cells["visit"] = cells.get("visit") or site.log.visits[result.visit].purpose
        if result.mark is None:  # what is missing stands at the line that asks it
            cells |= {"file": one.file, "line": one.line}
    due = site.due.get(id(result))
    more = [*(("final",) if _final(result.mark) else ()), *(("due",) if due is not None and due <= site.today else ())]
    return cells | {
        "verdict": result.verdict,
        "reasons": _words(result.reasons),
        "states": _states(site, result.verdict, result.reasons, result.mark, *more),
        "due": due.isoformat() if due is not None else None,
        "margin": result.margin,
        "probability": result.probability,
        "low": result.limits.low,
        "high": result.limits.high,
    }


def _final(mark: Mark | None) -> bool:
    return mark is not None and mark.live


def _words(reasons: tuple[Reason, ...]) -> str | None:
    return "; ".join(f"{reason.verdict}: {reason.message.removeprefix('missing: ')}" for reason in reasons) or None


# ---- one function per subject ------------------------------------------------------------------------------
def _joints(site: Site) -> Iterator[Cells]:
    for result in site.results:
        if result.kind == "joint":
            mark = result.mark
            yield _of_result(site, result) | {
                "place": result.place,
                "value": mark.value if mark is not None else None,
                "unit": mark.value.unit if mark is not None and mark.value is not None else None,
                "target": result.limits.target,
                "final": int(_final(mark)),
                "reworks": result.reworks,
                "previous": result.previous.value if result.previous is not None else None,
            }


def _torques(site: Site) -> Iterator[Cells]:
    """Every tightening as written: what stands, what was replaced and what was struck."""
    current = {result.mark.id: result for result in site.results if result.kind == "joint" and result.mark is not None}
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
            if result is not None:
                outcome = Outcome(result.reasons, result.limits, result.margin, result.probability, result.behind)
                verdict = result.verdict
            else:
                around = Around(site.judge.box, site.judge.guards.get(asked.sheet, 0.0) if asked else 0.0, site.judge.device)
                if asked is not None and mark.value is not None and mark.mode in ("final", "click", "held", "moved"):
                    outcome = RULES["joint"](asked, mark, around)
                    verdict = worst(outcome.reasons)
                else:
                    outcome = Outcome(behind=behind(mark, site.judge.box) if mark.value is not None else NOTHING)
                    verdict = _MODE_VERDICTS.get(mark.mode, "no-limit")
            previous = last.get(place)
            more = ["struck"] if struck else ["replaced"] if result is None and mark.live and asked is not None else []
            if mark.live:
                more.append("final")
            if mark.mode in ("pre", "held", "moved", "loosed", "click"):
                more.append(mark.mode)
            yield _common(site, mark, outcome.behind) | {
                "sheet": asked.sheet if asked is not None else None,
                "source": (asked.source or None) if asked is not None else None,
                "verdict": verdict,
                "reasons": _words(by_rank(outcome.reasons)),
                "states": _states(site, verdict, outcome.reasons, mark, *more),
                "place": mark.place,
                "value": mark.value,
                "unit": mark.value.unit if mark.value is not None else None,
                "target": asked.limits.target if asked is not None else None,
                "low": asked.limits.low if asked is not None else None,
                "high": asked.limits.high if asked is not None else None,
                "margin": outcome.margin,
                "probability": outcome.probability,
                "final": int(mark.live),
                "reworks": result.reworks if result is not None else 0,
                "previous": previous.value if previous is not None else None,
                "mode": mark.mode,
            }
            if mark.live and not struck:
                last[place] = mark


_MODE_VERDICTS = {"pre": "pre-only", "loosed": "reopened", "not-tested": "not-tested"}


def _readings(site: Site) -> Iterator[Cells]:
    for result in site.results:
        if result.kind not in ("reading", "dead", "spread"):
            continue
        mark, one = result.mark, result.asked
        record = mark.record if mark is not None else None
        value = result.value if result.kind == "spread" else mark.value if mark is not None else None
        yield _of_result(site, result) | {
            "what": "dead" if result.kind == "dead" else f"{result.what}-spread" if result.kind == "spread" else result.what,
            "points": result.place or None,
            "value": value,
            "at": ", ".join(condition.text for condition in mark.conditions) or None if mark is not None else None,
            "condition": one.condition.text if one is not None and one.condition is not None else None,
            "previous": result.previous.value if result.previous is not None else None,
            "displayed": record.displayed or None if isinstance(record, Reading) else None,
            "answer": mark.word or None if mark is not None else None,
        }


def _parts(site: Site) -> Iterator[Cells]:
    """Who sits where now, and what is still asked."""
    by_place = {site.judge.names.place(result.place): result for result in site.results if result.kind == "part"}
    present: set[str] = set()
    found, _ = stays(site.judge.marks, site.judge.names.place)
    for stay in found:
        place = site.judge.names.place(stay.place)
        result = by_place.get(place)
        if stay.until is not None and stay.until.mode != "removed":
            continue  # another serial sits there now: history
        present.add(place)
        cells = _of_result(site, result) if result is not None else _common(site, stay.since)
        yield cells | {
            "part": stay.place,
            "serial": stay.serial,
            "since": _day(stay.since),
            "until": _day(stay.until),
            "moved_to": stay.moved_to or None,
            "previous": stay.previous or None,
            "registered": stay.registered or None,
        }
    for place, result in by_place.items():
        if place not in present:
            yield _of_result(site, result) | {"part": result.place}


def _day(mark: Mark | None) -> str | None:
    return mark.moment.day.isoformat() if mark is not None and mark.moment.day is not None else None


def _holes(site: Site) -> Iterator[Cells]:
    for result in site.results:
        if result.kind == "hole":
            mark, one = result.mark, result.asked
            yield _of_result(site, result) | {
                "place": result.place,
                "diameter": mark.value if mark is not None else None,
                "depth": mark.second if mark is not None else None,
                "diameter_low": one.limits.low if one is not None else None,
                "diameter_high": one.limits.high if one is not None else None,
                "depth_low": one.second.low if one is not None else None,
                "depth_high": one.second.high if one is not None else None,
            }


def _looks(site: Site) -> Iterator[Cells]:
    for result in site.results:
        if result.kind == "look":
            wanted = result.asked.limits.word or "ok" if result.asked is not None else None
            answer = result.mark.word or None if result.mark is not None else None
            yield _of_result(site, result) | {
                "what": result.what, "place": result.place or None, "value": answer, "wanted": wanted,
            }  # fmt: skip


def _steps(site: Site) -> Iterator[Cells]:
    for result in site.results:
        if result.kind == "step":
            one, record = result.asked, result.mark.record if result.mark is not None else None
            yield _of_result(site, result) | {
                "step": result.what,
                "waited": record.waited if isinstance(record, Did) else None,
                "wanted": one.wait if one is not None else None,
                "before": ", ".join(one.before) or None if one is not None else None,
                "after": ", ".join(one.after) or None if one is not None else None,
            }


def _series(site: Site) -> Iterator[Cells]:
    for result in site.results:
        if result.kind == "series":
            yield _of_result(site, result) | {"what": result.what} | _trial_cells(site, result)


def _trial_cells(site: Site, result: Result) -> Cells:
    """The figures of a trial's file, where it could be read."""
    mark = result.mark
    trial = site.judge.trial(mark) if mark is not None else None
    if mark is None or trial is None:
        return {}
    from sitelog.judge.trials import figures_of

    return {"trial": mark.word} | figures_of(result.asked, mark, trial)


def _cables(site: Site) -> Iterator[Cells]:
    for result in site.results:
        if result.kind != "cable":
            continue
        cable = result.mark.record if result.mark is not None else None
        cells = _of_result(site, result) | {"place": result.place}
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


def _settings(site: Site) -> Iterator[Cells]:
    for result in site.results:
        if result.kind == "set":
            yield _of_result(site, result) | {
                "what": result.what,
                "place": result.place or None,
                "value": result.mark.word if result.mark is not None else None,
                "wanted": result.limits.text or None,
            }


def _defects(site: Site) -> Iterator[Cells]:
    found, _ = flaws(site.log)
    for flaw in found:
        opened = flaw.opened.around.moment.day
        cleared = flaw.cleared.around.moment.day if flaw.cleared is not None else None
        end = cleared or (site.today if flaw.open else None)
        states = f" {'open' if flaw.open else 'cleared'} {flaw.grade} {_signed(site, flaw.opened)} "
        yield _written(site, flaw.opened) | {
            "states": states,
            "verdict": "open" if flaw.open else "cleared",
            "defect": flaw.name,
            "severity": flaw.grade,
            "place": flaw.place or None,
            "about": flaw.about,
            "opened": opened.isoformat() if opened is not None else None,
            "cleared": cleared.isoformat() if cleared is not None else None,
            "age": (end - opened).days if end is not None and opened is not None else None,
        }


def _written(site: Site, one: Written) -> Cells:
    moment = one.around.moment
    return {
        "site": site.name,
        "visit": site.log.visits[moment.visit].purpose,
        "day": moment.day.isoformat() if moment.day is not None else None,
        "time": str(moment.clock) if moment.clock is not None else None,
        "by": one.around.by or None,
        "tool": (one.record.head.tool or None) if one.record is not None else None,
        "remark": one.entry.remark or None,
        "file": one.file,
        "line": one.entry.number,
        "text": one.entry.text,
    }


def _signed(site: Site, one: Written) -> str:
    return "signed" if (one.file, one.entry.number) in site.signed else "unsigned"


def _entries(site: Site) -> Iterator[Cells]:
    struck = site.log.struck
    replaced = site.replaced
    for one in site.log.written:
        key = (one.file, one.entry.number)
        words = [_signed(site, one)]
        if key in struck.lines or any(mark.id in struck.marks for mark in one.marks):
            words.append("struck")
        if one.marks and all(mark.id in replaced for mark in one.marks):
            words.append("replaced")
        if one.record is None:
            words.append("unread")
        yield _written(site, one) | {
            "states": f" {' '.join(words)} ",
            "kind": one.entry.kind if one.entry.kind != "?" else None,
            "entry": one.entry.text.strip(),
        }


def _sites(site: Site) -> Iterator[Cells]:
    summary = site.summary
    words = ["away"] if site.away is not None else []
    words.append("signed" if all(stay.signed is not None for stay in site.log.visits) else "unsigned")
    words.append("ready" if summary.ready else "open")
    days = [
        one.around.moment.day
        for one in site.log.written
        if isinstance(one.record, Sign) and one.around.moment.day is not None
    ]
    last = max(
        (one.around.moment.day for one in site.log.written if one.around.moment.day is not None), default=None
    )
    yield {
        "site": site.name,
        "sheet": ", ".join(summary.sheets) or None,
        "day": last.isoformat() if last is not None else None,
        "verdict": "ready" if summary.ready else "not ready",
        "states": f" {' '.join(words)} ",
        "file": site.log.files[0],
        "line": 1,
        "text": site.title_line,
        "sheets": ", ".join(summary.sheets) or None,
        "joints": summary.joints,
        "joints_under": summary.joints_under,
        "readings": summary.readings,
        "readings_failing": summary.readings_failing,
        "missing": summary.missing,
        "defects_open": summary.defects_open,
        "errors": summary.errors,
        "warnings": summary.warnings,
        "ready": int(summary.ready),
        "last_signed": max(days).isoformat() if days else None,
    }


def _stages(site: Site) -> Iterator[Cells]:
    for stage in site.stages:
        yield {
            "site": site.name,
            "file": site.log.files[0],
            "line": 1,
            "text": site.title_line,
            "states": f" {'cleared' if stage.state == 'complete' else 'open'} {stage.state} ",
            "verdict": stage.state,
            "stage": stage.name,
            "asked": stage.asked,
            "open": stage.open,
            "waits_for": ", ".join(stage.blocked_by) or None,
        }


def _signatures(site: Site) -> Iterator[Cells]:
    written = {(one.file, one.entry.number): one for one in site.log.written}
    for held in site.held:
        one = written[held.sign.head.file, held.line]
        holds = "no digest" if held.holds is None else "yes" if held.holds else "no"
        yield _written(site, one) | {
            "states": " passing " if held.holds else " failing " if held.holds is False else " ",
            "verdict": "pass" if held.holds else "not-ok" if held.holds is False else "doubtful",
            "who": held.sign.who,
            "purpose": held.sign.purpose,
            "holds": holds,
            "because": reason(held.sign) or None,
        }


def _visits(site: Site) -> Iterator[Cells]:
    for stay in site.log.visits:
        written = [one for one in site.log.written if one.around.moment.visit == stay.index]
        sign = next((one for one in written if stay.signed is not None and one.record is stay.signed), None)
        closed = sign.around.moment.day if sign is not None else None
        cells = _written(site, written[0]) if written else {"site": site.name}
        yield cells | {
            "visit": stay.purpose,
            "day": stay.day.isoformat() if stay.day is not None else None,
            "states": " signed " if stay.signed is not None else " unsigned open ",
            "purpose": stay.purpose,
            "opened": stay.day.isoformat() if stay.day is not None else None,
            "closed": closed.isoformat() if closed is not None else None,
            "signed_by": stay.signed.who if stay.signed is not None else None,
        }


def _photos(site: Site) -> Iterator[Cells]:
    for result in site.results:
        if result.kind == "photo":
            yield _of_result(site, result) | {
                "photo": result.mark.what if result.mark is not None else None,
                "of": result.place,
            }


_MAKERS: dict[str, Callable[[Site], Iterator[Cells]]] = {
    "joints": _joints,
    "torques": _torques,
    "readings": _readings,
    "parts": _parts,
    "holes": _holes,
    "looks": _looks,
    "cables": _cables,
    "series": _series,
    "steps": _steps,
    "settings": _settings,
    "defects": _defects,
    "stages": _stages,
    "signatures": _signatures,
    "visits": _visits,
    "photos": _photos,
    "entries": _entries,
    "sites": _sites,
}


# ---- tools ---------------------------------------------------------------------------------------------------
def tool_row(tool: Tool, calibrations: tuple[Calibration, ...], uses: int, today: date) -> Row:
    """The row of one tool of a kit, as things stand today."""
    newest = calibrations[-1] if calibrations else None
    due = newest.due if newest is not None else None
    words: list[str] = []
    verdict = "in calibration"
    if not calibrations and not tool.proved_on and tool.kind != "proving-unit":
        verdict = "no calibration"
        words += ["out-of-calibration", "untraceable"]
    elif due is not None and due < today:
        verdict = "out of calibration"
        words += ["out-of-calibration", "due"]
    elif not calibrations:
        verdict = "proved" if tool.proved_on else NOT_APPLICABLE
    outside = [text for one in calibrations[-1:] for measure in tool.measures for text in found_out(measure, one)]
    if outside:
        words.append("doubtful")
    return _row(
        "tools",
        {
            "tool": tool.name,
            "kit": tool.kit,
            "kind": tool.kind,
            "range": ", ".join(filter(None, (measure.range_text for measure in tool.measures))) or None,
            "serial": tool.serial or None,
            "cert": newest.cert or None if newest is not None else None,
            "calibrated": newest.day.isoformat() if newest is not None else None,
            "due": due.isoformat() if due is not None else None,
            "tool_due": due.isoformat() if due is not None else None,
            "day": due.isoformat() if due is not None else None,
            "found": "; ".join(outside) or _found_text(newest),
            "uses": uses,
            "verdict": verdict,
            "states": f" {' '.join(words)} ",
            "file": tool.file,
            "line": tool.line,
            "text": f"tool {tool.name} {tool.kind}",
        },
    )


def _found_text(calibration: Calibration | None) -> str | None:
    """What the newest calibration found, each point as a sentence."""
    points = calibration.found if calibration is not None else ()
    texts = [
        f"{point.error * 100:+.1f} %"
        if point.error is not None
        else f"it gave {format_quantity(point.true)} where it showed {format_quantity(point.shown)}"
        for point in points
        if point.error is not None or (point.true is not None and point.shown is not None)
    ]
    return "; ".join(texts) or None


"""A site → the rows about it: defects, stages, signatures, visits, photos, entries, the site itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sitelog.asking.rows.common import (
    Cells,
    of_result,
    of_written,
    signed_or_not,
)
from sitelog.files.signatures import reason
from sitelog.judging.completeness import state_of
from sitelog.judging.defects import nonconformities
from sitelog.judging.judged import Site
from sitelog.judging.results import Result
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.paper import Sign


def defects(site: Site) -> Iterator[Cells]:
    found, _ = nonconformities(site.log)
    for defect in found:
        opened, since = defect.opened.context.moment.day, defect.since.context.moment.day
        cleared = defect.cleared.context.moment.day if defect.cleared is not None else None
        end = cleared or (site.today if defect.open else None)
        words = [
            "open" if defect.open else "cleared",
            defect.grade,
            signed_or_not(site, defect.since),
        ]
        words += ["reopened"] if defect.again is not None else []
        states = f" {' '.join(words)} "
        yield of_written(site, defect.since) | {
            "states": states,
            "verdict": "open" if defect.open else "cleared",
            "defect": defect.name,
            "severity": defect.grade,
            "place": defect.place or None,
            "about": defect.about,
            "opened": opened.isoformat() if opened is not None else None,
            "reopened": since.isoformat() if defect.again is not None and since is not None else None,
            "cleared": cleared.isoformat() if cleared is not None else None,
            "age": (end - since).days if end is not None and since is not None else None,
        }


def entries(site: Site) -> Iterator[Cells]:
    struck = site.log.struck
    replaced = site.replaced
    for one in site.log.entries:
        key = (one.file, one.entry.number)
        words = [signed_or_not(site, one)]
        if key in struck.lines or (
            struck.observations and any(obs.id in struck.observations for obs in one.observations)
        ):
            words.append("struck")
        if replaced and one.observations and all(obs.id in replaced for obs in one.observations):
            words.append("replaced")
        if one.record is None:
            words.append("unread")
        cells = of_written(site, one)
        cells["states"] = f" {' '.join(words)} "
        cells["kind"] = one.entry.kind if one.entry.kind != "?" else None
        cells["entry"] = one.entry.text.strip()
        yield cells


def sites(site: Site) -> Iterator[Cells]:
    summary = site.summary
    words = ["away"] if site.away is not None else []
    words.append("signed" if all(stay.signed is not None for stay in site.log.visits) else "unsigned")
    state = "closed" if site.judge.closed else "ready" if summary.ready else "open"
    words.append(state)
    days = [
        one.context.moment.day
        for one in site.log.entries
        if isinstance(one.record, Sign) and one.context.moment.day is not None
    ]
    last = max(
        (one.context.moment.day for one in site.log.entries if one.context.moment.day is not None),
        default=None,
    )
    yield {
        "site": site.name,
        "sheet": ", ".join(summary.sheets) or None,
        "day": last.isoformat() if last is not None else None,
        "verdict": "not ready" if state == "open" else state,
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
        "state": state_of(site),
        "last_signed": max(days).isoformat() if days else None,
    }


def stages(site: Site) -> Iterator[Cells]:
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


def signatures(site: Site) -> Iterator[Cells]:
    written = {(one.file, one.entry.number): one for one in site.log.entries}
    for held in site.signature_checks:
        one = written[held.sign.head.file, held.line]
        holds = "no digest" if held.holds is None else "yes" if held.holds else "no"
        yield of_written(site, one) | {
            "states": " pass " if held.holds else " not-ok " if held.holds is False else " doubtful ",
            "verdict": "pass" if held.holds else "not-ok" if held.holds is False else "doubtful",
            "who": held.sign.who,
            "purpose": held.sign.purpose,
            "holds": holds,
            "because": reason(held.sign) or None,
        }


def visits(site: Site) -> Iterator[Cells]:
    for stay in site.log.visits:
        written = [one for one in site.log.entries if one.context.moment.visit == stay.index]
        sign = next((one for one in written if stay.signed is not None and one.record is stay.signed), None)
        closed = sign.context.moment.day if sign is not None else None
        cells = of_written(site, written[0]) if written else {"site": site.name}
        yield cells | {
            "visit": stay.purpose,
            "day": stay.day.isoformat() if stay.day is not None else None,
            "states": " signed closed " if stay.signed is not None else " unsigned open ",
            "purpose": stay.purpose,
            "opened": stay.day.isoformat() if stay.day is not None else None,
            "closed": closed.isoformat() if closed is not None else None,
            "signed_by": stay.signed.who if stay.signed is not None else None,
        }


def photos(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "photos":
            yield of_result(site, result) | {
                "photo": result.observation.what if result.observation is not None else None,
                "of": result.place,
            }

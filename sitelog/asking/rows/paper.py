"""A site → the rows about it: defects, stages, signatures, visits, photos, entries, the site itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sitelog.asking.rows.common import (
    Cells,
    of_entry,
    of_work,
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
    """Each defect of a site, as it stands."""
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
        yield of_entry(site, defect.since) | {
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
    """Each entry of a log as written, the unreadable ones too."""
    struck = site.log.struck
    replaced = site.replaced
    for entry in site.log.entries:
        key = (entry.file, entry.entry.number)
        words = [signed_or_not(site, entry)]
        if key in struck.lines or (
            struck.observations and any(obs.id in struck.observations for obs in entry.observations)
        ):
            words.append("struck")
        if replaced and entry.observations and all(obs.id in replaced for obs in entry.observations):
            words.append("replaced")
        if entry.record is None:
            words.append("unread")
        cells = of_entry(site, entry)
        cells["tool"] = (entry.record.head.tool or None) if entry.record is not None else None
        cells["states"] = f" {' '.join(words)} "
        cells["kind"] = entry.entry.kind if entry.entry.kind != "?" else None
        cells["entry"] = entry.entry.text.strip()
        yield cells


def sites(site: Site) -> Iterator[Cells]:
    """The row of the site itself: its figures, its state, when it was signed."""
    summary = site.summary
    words = ["away"] if site.away is not None else []
    words.append("signed" if all(visit.signed is not None for visit in site.log.visits) else "unsigned")
    state = "closed" if site.closed else "ready" if summary.ready else "open"
    words.append(state)
    days = [
        entry.context.moment.day
        for entry in site.log.entries
        if isinstance(entry.record, Sign) and entry.context.moment.day is not None
    ]
    last = max(
        (entry.context.moment.day for entry in site.log.entries if entry.context.moment.day is not None),
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
    """Each stage that the sheets name, with what is open in it."""
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
    """Each signature, and whether what it signed is unchanged."""
    written = {(entry.file, entry.entry.number): entry for entry in site.log.entries}
    for check in site.signature_checks:
        entry = written[check.sign.head.file, check.line]
        holds = "no digest" if check.holds is None else "yes" if check.holds else "no"
        yield of_entry(site, entry) | {
            "states": " pass " if check.holds else " not-ok " if check.holds is False else " doubtful ",
            "verdict": "pass" if check.holds else "not-ok" if check.holds is False else "doubtful",
            "who": check.sign.who,
            "purpose": check.sign.purpose,
            "holds": holds,
            "because": reason(check.sign) or None,
        }


def visits(site: Site) -> Iterator[Cells]:
    """Each visit with its days and its signature."""
    for visit in site.log.visits:
        written = [entry for entry in site.log.entries if entry.context.moment.visit == visit.index]
        sign = next(
            (entry for entry in written if visit.signed is not None and entry.record is visit.signed), None
        )
        closed = sign.context.moment.day if sign is not None else None
        cells = of_entry(site, written[0]) if written else {"site": site.name}
        yield cells | {
            "visit": visit.purpose,
            "day": visit.day.isoformat() if visit.day is not None else None,
            "states": " signed closed " if visit.signed is not None else " unsigned open ",
            "purpose": visit.purpose,
            "opened": visit.day.isoformat() if visit.day is not None else None,
            "closed": closed.isoformat() if closed is not None else None,
            "signed_by": visit.signed.who if visit.signed is not None else None,
        }


def photos(site: Site, results: Iterable[Result] | None = None) -> Iterator[Cells]:
    """Each photo that a sheet asks for or an entry names."""
    for result in site.results if results is None else results:
        if row_of(result.kind).subject == "photos":
            yield of_work(site, result) | {
                "photo": result.observation.what if result.observation is not None else None,
                "of": result.place,
            }

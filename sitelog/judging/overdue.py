"""What a sheet asks again and again, was good, and is due since a day that has passed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.judging.case import REMOVAL, Case
from sitelog.judging.results import Result
from sitelog.notation.places import compress


def overdue_of(case: Case, results: Sequence[Result], due: Mapping[int, date]) -> dict[int, date]:
    """The day since when each result is due that nothing else keeps open, by the identity of the result.

    It needs a day of the newest good observation that lies more than the interval before today, on a site
    that nobody has begun to take down. `due` has the days on which results are due, by the same identity.
    """
    if case.log.visits[-1].purpose == REMOVAL:
        return {}
    return {
        id(result): day
        for result in results
        if (day := due.get(id(result))) is not None and day < case.today and not result.open
    }


def overdue_findings(results: Sequence[Result], overdue: Mapping[int, date]) -> list[Finding]:
    """A finding for each entry whose observations are overdue; places with the same day stand together."""
    groups: dict[tuple[str, int, str, date], list[Result]] = {}
    for result in results if overdue else ():
        obs, day = result.observation, overdue.get(id(result))
        if obs is not None and day is not None:
            groups.setdefault((obs.file, obs.line, result.kind, day), []).append(result)
    found: list[Finding] = []
    for (file, _, _, day), group in groups.items():
        observations = [result.observation for result in group if result.observation is not None]
        start, end = min(obs.start for obs in observations), max(obs.end for obs in observations)
        names = compress(dict.fromkeys(result.place for result in group))
        about = " ".join(filter(None, (group[0].what, names))) or group[0].kind
        span = observations[0].record.head.entry.span(file, start, end)
        help = "do it again, in a `visit service`"
        found.append(finding_at(span, "overdue", f"{about}: due since {day}", help))
    return found

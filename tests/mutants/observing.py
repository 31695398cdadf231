"""What sitelog says of a job, as far as a mutation can change it."""

import os
import re
import shutil
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import NamedTuple

from sitelog.base.verdicts import NOT_APPLICABLE, VERDICTS
from sitelog.fleet.workspace import load
from sitelog.judging.completeness import STATES, state_of
from tests.mutants.jobs import Job

TODAY = date(2026, 11, 25)

# What is excused is worse than what passed, and better than anything open.
RANK = {verdict: rank for rank, verdict in enumerate((*VERDICTS[:-1], NOT_APPLICABLE, VERDICTS[-1]))}

_OPEN = RANK["doubtful"]

# Lines move when one is added above, which is no news; so do days counted up to today.
_LINE = re.compile(r"\blines? \d+(?:(?:, | and )\d+)*|:\d+")


class Seen(NamedTuple):
    """What was said: findings and their number, a verdict for each thing asked, a state for each site."""

    findings: Counter[tuple[str, str, str]]
    verdicts: dict[tuple[str, ...], str]
    states: dict[str, str]


class Change(NamedTuple):
    """What a mutation changed: new findings, verdicts that got worse, verdicts that got better."""

    findings: tuple[tuple[str, str, str], ...]
    worse: tuple[str, ...]
    better: tuple[str, ...]

    @property
    def noticed(self) -> bool:
        """Whether a reader of `check` or `gaps` can see that something is wrong."""
        return bool(self.findings or self.worse)


@contextmanager
def laid_out(job: Job) -> Iterator[Path]:
    """The job's files in a folder of their own, in memory where the machine has a place for that."""
    room = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    folder = Path(tempfile.mkdtemp(dir=room))
    try:
        (folder / ".git").mkdir()  # a repository's root, so that nothing above is looked at
        for name, data in job.files.items():
            (folder / name).write_bytes(data)
        yield folder
    finally:
        shutil.rmtree(folder)


def with_evidence(job: Job, today: date = TODAY) -> Job:
    """The job, with what in its log proves something and the lines of its sheet that ask it.

    Of a site that was taken down only the removal counts: what was wrong with it left with it.
    """
    with laid_out(job) as folder:
        sites = load([str(folder)], today).judged
    spans, asked = set(), set()
    for site in sites:
        purposes = [visit.purpose for visit in site.log.visits]
        for result in site.results:
            wanted, obs = result.requirement, result.observation
            if wanted is None or obs is None or (wanted.visit or "install") not in purposes:
                continue
            if "removal" in purposes and wanted.visit != "removal":
                continue
            if obs.moment.visit == result.visit or result.kind == "joint" or result.what == "insulation":
                spans.add((obs.line - 1, obs.start, obs.end))  # else done again unasked, in a later visit
            if Path(wanted.file).name == job.sheet:
                asked.add(wanted.line - 1)
    return job._replace(evidence=frozenset(spans), asked=frozenset(asked))


def see(job: Job, today: date = TODAY) -> Seen:
    """Check a job."""
    with laid_out(job) as folder:
        return see_folder(folder, today)


def see_folder(folder: Path, today: date = TODAY) -> Seen:
    """Check what stands in a folder."""
    workspace = load([str(folder)], today)
    verdicts: dict[tuple[str, ...], str] = {}
    for site in workspace.judged:
        for result in site.results:
            asked = result.requirement
            if asked is not None:
                condition = asked.condition.key if asked.condition is not None else ""
                about = (result.kind, result.what.casefold(), result.place.casefold(), condition)
                key = (site.name, *about, asked.sheet, str(result.visit))
                worst = verdicts.get(key, result.verdict)
                verdicts[key] = min(worst, result.verdict, key=RANK.__getitem__)
    said = Counter(
        (finding.slug, finding.severity, _LINE.sub("line", finding.message.replace(str(folder), "")))
        for finding in workspace.findings
    )
    return Seen(said, verdicts, {site.name: state_of(site) for site in workspace.judged})


def changed(before: Seen, after: Seen) -> Change:
    """What is said after a mutation and was not said before it."""
    worse: list[str] = []
    better: list[str] = []
    for key, verdict in before.verdicts.items():
        now = after.verdicts.get(key)
        if now is None:
            worse.append(f"{' '.join(key)}: asked no more")
        elif RANK[now] < RANK[verdict]:
            worse.append(f"{' '.join(key)}: {verdict} -> {now}")
        elif RANK[now] > max(RANK[verdict], RANK["doubtful"]):
            better.append(f"{' '.join(key)}: {verdict} -> {now}")
    for name, state in before.states.items():
        now = after.states.get(name, STATES[0])
        if STATES.index(now) < STATES.index(state):
            worse.append(f"{name}: {state} -> {now}")
    worse += [
        f"{' '.join(key)}: {now}"
        for key, now in after.verdicts.items()
        if key not in before.verdicts and now != "pass"
    ]
    return Change(tuple((after.findings - before.findings).elements()), tuple(worse), tuple(better))

"""Mutants of jobs, checked: who noticed what."""

import difflib
from functools import cache
from random import Random
from typing import NamedTuple

from tests.mutants.jobs import Job, faulty_jobs, jobs
from tests.mutants.mutations import MUTATIONS, Mutation
from tests.mutants.observing import Change, Seen, changed, see, with_evidence


class Mutant(NamedTuple):
    """One mutant, and what became of it.

    `outcome` is the strongest sign of it: a finding's severity, `verdict` where only a verdict got worse,
    `listed` where nothing shows and the class says why, else `silent`; `better` where a verdict improved, and
    `faulty` where it did not in a job that was faulty before.
    """

    name: str
    job: str
    outcome: str
    what: str


@cache
def _clean() -> list[tuple[Job, Seen]]:
    return [(with_evidence(job), see(job)) for job in jobs()]


@cache
def _faulty() -> list[tuple[Job, Seen]]:
    return [(with_evidence(job), see(job)) for job in faulty_jobs()]


def run(seed: int, count: int, only: str = "") -> list[Mutant]:
    """So many mutants, each of a class and a job drawn at random."""
    rng = Random(seed)
    found: list[Mutant] = []
    classes = [one for one in MUTATIONS.values() if not only or one.name == only]
    while len(found) < count:
        mutation = rng.choice(classes)
        one = _one(mutation, rng)
        if one is not None:
            found.append(one)
        elif only and rng.random() < 0.001:
            break
    return found


def _one(mutation: Mutation, rng: Random) -> Mutant | None:
    faulty = not mutation.helps and rng.random() < 0.2
    job, before = rng.choice(_faulty() if faulty else _clean())
    mutant = mutation.mutate(job, rng)
    if mutant is None or mutant.files == job.files:
        return None
    change = changed(before, see(mutant))
    # In a faulty job one fault may hide behind another, so that only a verdict that improves counts.
    outcome = ("better" if change.better else "faulty") if faulty else _outcome(change, mutation)
    return Mutant(mutation.name, job.name, outcome, _what(job, mutant, change))


def _outcome(change: Change, mutation: Mutation) -> str:
    if change.better:
        return "better"
    severities = {severity for _, severity, _ in change.findings}
    for severity in ("error", "warning", "info"):
        if severity in severities:
            return severity
    if change.worse:
        return "verdict"
    return "listed" if mutation.silent else "silent"


def _what(job: Job, mutant: Job, change: Change) -> str:
    lines = []
    for file in sorted(job.files.keys() | mutant.files.keys()):
        before, after = (
            each.files.get(file, b"").decode(errors="replace").split("\n") for each in (job, mutant)
        )
        if before != after:
            edits = list(difflib.unified_diff(before, after, file, file, n=0, lineterm=""))
            lines += edits[:12]
    lines += [f"  {severity} [{slug}] {message}" for slug, severity, message in change.findings[:4]]
    lines += [f"  worse {text}" for text in change.worse[:4]]
    lines += [f"  better {text}" for text in change.better[:4]]
    return "\n".join(lines)

"""Every class of mutation is noticed or listed, and what says the same is judged the same."""

from collections import Counter
from random import Random

import pytest

from tests.mutants.campaign import run
from tests.mutants.jobs import Job, jobs
from tests.mutants.mutations import MUTATIONS
from tests.mutants.observing import see, with_evidence
from tests.mutants.relations import RELATIONS

JOBS = jobs()
PIECES, EACH = 16, 180
# What is read otherwise than it stands is told as an info; that is no verdict.
TOLD = {"time-with-dot", "decimal-comma", "photo-absent"}


def test_the_jobs_are_clean():
    for job in JOBS:
        seen = see(job)
        assert not [finding for finding in seen.findings if finding[1] == "error"], job.name
        assert set(seen.verdicts.values()) <= {"pass", "n/a"}, job.name


def test_there_are_enough_classes():
    assert len(MUTATIONS) >= 40
    assert len(RELATIONS) >= 20


@pytest.mark.parametrize("piece", range(PIECES))
def test_every_mutant_is_noticed_or_listed(piece):
    bad = [mutant for mutant in run(7_000 + piece, EACH) if mutant.outcome in ("silent", "better")]
    assert [f"{mutant.outcome}: {mutant.name} in {mutant.job}\n{mutant.what}" for mutant in bad[:5]] == []


@pytest.mark.parametrize("name", MUTATIONS)
def test_every_class_finds_something_to_do(name):
    rng = Random(3)
    made = [
        mutant
        for job in map(with_evidence, JOBS)
        for _ in range(3)
        if (mutant := MUTATIONS[name].mutate(job, rng)) is not None and mutant.files != job.files
    ]
    assert made


def _said(job: Job) -> tuple[object, ...]:
    seen = see(job)
    findings = Counter((slug, severity) for slug, severity, _ in seen.findings.elements() if slug not in TOLD)
    return seen.verdicts, seen.states, findings


@pytest.mark.parametrize("name", RELATIONS)
def test_what_says_the_same_is_judged_the_same(name):
    changed = 0
    for job in JOBS:
        same = RELATIONS[name](job)
        changed += same.files != job.files
        assert _said(same) == _said(job), job.name
    assert changed

"""Everything in the paths as suites of cases, for `check --format junit`."""

from __future__ import annotations

from collections import defaultdict

from sitelog.asking.rows.cases import SuiteCase, cases_of, faults
from sitelog.base.frozen import NamedTuple
from sitelog.findings.finding import Finding
from sitelog.fleet.workspace import Workspace


class Suite(NamedTuple):
    """The cases of one site, or of a file that belongs to none."""

    name: str
    file: str | None
    sheets: tuple[str, ...]
    cases: list[SuiteCase]


def suites_of(workspace: Workspace) -> list[Suite]:
    """A suite for each site; then one for each file with a fault that stands in no site's log."""
    by_file: dict[str, list[Finding]] = defaultdict(list)
    for finding in workspace.findings:
        by_file[finding.file].append(finding)
    found: list[Suite] = []
    for site in workspace.judged:
        own = [finding for file in dict.fromkeys(site.log.files) for finding in by_file.pop(file, ())]
        summary = site.summary
        found.append(Suite(summary.site, summary.file, summary.sheets, cases_of(site, own)))
    for file, faulty in by_file.items():
        if cases := faults(faulty, ""):
            found.append(Suite(file, file, (), cases))
    return found

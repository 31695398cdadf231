"""How far a site is: one word for the page that is signed, for the fleet at a glance, and for questions.

It speaks of what the sheets ask and of nothing else. A figure is never compliance.
"""

from __future__ import annotations

from sitelog.base.verdicts import FAILING
from sitelog.judging.judged import Site

COMPLETE = "complete"
RESERVED = "with-reservations"
INCOMPLETE = "not-complete"
TAKEN_DOWN = "taken-down"
STATES = (INCOMPLETE, RESERVED, COMPLETE, TAKEN_DOWN)
"""Every state, the worst first; what is taken down is no more, so it is not complete either."""

UNDONE = FAILING | {"missing", "reopened", "pre-only"}
"""The verdicts of work that has still to be done, or done again; what only wants proof is a reservation."""


def state_of(site: Site) -> str:
    """The state of a site.

    Not complete: an error, work undone, a defect that is major or a danger, a site left half way, no sheet.
    With reservations: anything else that is open, a warning, a visit that nobody signed. Taken
    down: every part is gone and the removal signed. Else complete.
    """
    summary = site.summary
    grave = any(defect.open and defect.grade != "minor" for defect in site.nonconformities)
    if summary.errors or not summary.sheets or grave or site.away is not None or _undone(site):
        return INCOMPLETE
    unsigned = any(visit.signed is None for visit in site.log.visits)
    if summary.warnings or unsigned or not summary.ready:
        return RESERVED
    return TAKEN_DOWN if site.closed else COMPLETE


def _undone(site: Site) -> bool:
    return any(
        result.verdict in UNDONE
        and result.requirement is not None
        and not (site.closed and result.requirement.visit != "removal")  # what was wrong left with it
        for result in site.results
    )

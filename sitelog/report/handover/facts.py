"""A judged site → the facts of its handover page, section by section."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from sitelog.findings.finding import Finding
from sitelog.judging.judged import Site
from sitelog.report.handover import (
    corrections,
    days,
    defects,
    joints,
    paper,
    readings,
    tools,
    trials,
    verbatim,
    work,
)
from sitelog.report.handover.cover import cover
from sitelog.report.handover.document import Handover, HandoverSection, Part
from sitelog.report.handover.handover_site import HandoverSite, Shrink

_Maker = Callable[[HandoverSite], list[Part]]

_SECTIONS: tuple[tuple[str, str, _Maker], ...] = (
    ("open", "All that is open", paper.still_open),
    ("findings", "Errors and warnings", paper.findings),
    ("parts", "Parts and serials", work.parts),
    ("joints", "Joints", joints.joints),
    ("holes", "Holes", work.holes),
    ("tests", "Readings and electrical tests", readings.readings),
    ("spread", "Cells and modules side by side", readings.spreads),
    ("conductors", "Conductors", work.cables),
    ("days", "The days, in order", days.days),
    ("trials", "Trials", trials.trials),
    ("looks", "Looked at", work.looks),
    ("settings", "Settings", work.settings),
    ("defects", "Defects", defects.defects),
    ("photos", "Photos", defects.photos),
    ("tools", "Tools and calibration", tools.tools),
    ("corrections", "Struck, done again, taken out", corrections.corrections),
    ("signatures", "Visits and signatures", paper.signatures),
    ("log", "The log as written", verbatim.verbatim),
)


def handover(site: Site, findings: Iterable[Finding] = (), shrink: Shrink | None = None) -> Handover:
    """The facts of a site's handover.

    `findings` are those of everything that was read with it; `shrink` makes photos small enough to stand in
    the page, and without it they are named only.
    """
    handover_site = HandoverSite(site, findings, shrink)
    made = ((anchor, title, tuple(make(handover_site))) for anchor, title, make in _SECTIONS)
    return Handover(cover(handover_site), tuple(HandoverSection(*one) for one in made if one[2]))

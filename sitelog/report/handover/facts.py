"""A judged site → the facts of its handover page, section by section."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from sitelog.findings.finding import Finding
from sitelog.judged import Site
from sitelog.report.handover import paper, verbatim, work
from sitelog.report.handover.cover import cover
from sitelog.report.handover.document import Handover, Part, Section
from sitelog.report.handover.told import Told

_Maker = Callable[[Told], list[Part]]

_SECTIONS: tuple[tuple[str, str, _Maker], ...] = (
    ("open", "What is open", paper.still_open),
    ("findings", "Errors and warnings", paper.findings),
    ("parts", "Parts and serials", work.parts),
    ("joints", "Joints", work.joints),
    ("holes", "Holes", work.holes),
    ("readings", "Electrical tests", work.readings),
    ("looks", "What was looked at", work.looks),
    ("cables", "Conductors", work.cables),
    ("steps", "Steps and waits", work.steps),
    ("settings", "Settings", work.settings),
    ("trials", "Trials", work.trials),
    ("defects", "Defects", paper.defects),
    ("tools", "Tools and calibration", paper.tools),
    ("signatures", "Signatures", paper.signatures),
    ("log", "The log as written", verbatim.verbatim),
)


def handover(site: Site, findings: Iterable[Finding] = ()) -> Handover:
    """The facts of a site's handover; `findings` are those of everything that was read with it."""
    told = Told(site, findings)
    made = ((anchor, title, tuple(make(told))) for anchor, title, make in _SECTIONS)
    return Handover(cover(told), tuple(Section(*one) for one in made if one[2]))

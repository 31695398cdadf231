"""Trials: what a logger's file gave, and its course over time."""

from __future__ import annotations

from sitelog.files.trials.results import TrialFault
from sitelog.fleet.site import beside
from sitelog.report.handover.document import Cell, ColumnHead, Course, Figures, PageTable, Part
from sitelog.report.handover.handover_site import HandoverSite


def trials(handover_site: HandoverSite) -> list[Part]:
    """The trials of a site, each file drawn once."""
    courses: list[Course] = []
    for result in handover_site.results("series"):
        if result.observation is None or isinstance(
            handover_site.site.case.trial(result.observation), TrialFault
        ):
            continue
        from sitelog.files.trials.curve import read_curve

        curve = read_curve(beside(result.observation), result.observation.what)
        if not isinstance(curve, TrialFault):
            name = f"{result.observation.what}, {result.observation.word}"
            courses.append(Course(f"The course of {name}", name, curve))
    return [*_figures(handover_site), *([Figures(tuple(courses))] if courses else [])]


def _figures(handover_site: HandoverSite) -> list[Part]:
    """One column for each trial: their figures are many, and the trials few."""
    made = handover_site.table(
        "series",
        handover_site.rows("series"),
        "Trials, with what their files gave",
        "what trial; verdict; trial file; energy energy as logged; "
        "capacity energy scaled to what is asked; charge; soc_start from; soc_stop to; "
        "voltage_start voltage before; voltage_stop voltage at the end; "
        "temperature mean temperature; spread; efficiency; duration time under current; margin; gaps; "
        "basis rests on; source source of the limit; done by; line where",
    )
    if not made or not isinstance(wide := made[0], PageTable):
        return []
    names, *figures = zip(*wide.rows, strict=True)
    heads = (ColumnHead("figure"), *(ColumnHead(name.text, "words") for name in names))
    rows = tuple((Cell(head.text), *cells) for head, cells in zip(wide.heads[1:], figures, strict=True))
    return [PageTable(wide.caption, heads, rows), *made[1:]]

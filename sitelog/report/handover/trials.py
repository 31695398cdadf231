"""Trials: what a logger's file gave, and its course over time."""

from __future__ import annotations

from sitelog.files.trials.results import TrialFault
from sitelog.fleet.site import beside
from sitelog.report.handover.document import Cell, Course, Figures, Head, Part, Table
from sitelog.report.handover.told import Told


def trials(told: Told) -> list[Part]:
    """The trials of a site, each file drawn once."""
    courses: list[Course] = []
    for result in told.results("series"):
        if result.observation is None or isinstance(told.site.case.trial(result.observation), TrialFault):
            continue
        from sitelog.files.trials.curve import read_curve

        curve = read_curve(beside(result.observation), result.observation.what)
        if not isinstance(curve, TrialFault):
            name = f"{result.observation.what}, {result.observation.word}"
            courses.append(Course(f"The course of {name}", name, curve))
    return [*_figures(told), *([Figures(tuple(courses))] if courses else [])]


def _figures(told: Told) -> list[Part]:
    """One column for each trial: their figures are many, and the trials few."""
    made = told.table(
        "series",
        told.rows("series"),
        "Trials, with what their files gave",
        "what trial; verdict; trial file; energy energy as logged; "
        "capacity energy scaled to what is asked; charge; soc_start from; soc_stop to; "
        "voltage_start voltage before; voltage_stop voltage at the end; "
        "temperature mean temperature; spread; efficiency; duration time under current; margin; gaps; "
        "basis rests on; source source of the limit; done by; line where",
    )
    if not made or not isinstance(wide := made[0], Table):
        return []
    names, *figures = zip(*wide.rows, strict=True)
    heads = (Head("figure"), *(Head(name.text, "words") for name in names))
    rows = tuple((Cell(head.text), *cells) for head, cells in zip(wide.heads[1:], figures, strict=True))
    return [Table(wide.caption, heads, rows), *made[1:]]

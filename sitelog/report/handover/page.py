"""The facts of a handover → one HTML page: pictures drawn, every text escaped by the template engine."""

from __future__ import annotations

from collections.abc import Iterable

from sitelog.findings.finding import Finding
from sitelog.judging.judged import Site
from sitelog.report.handover.document import Course, Handover, Picture, SpreadPicture, Strips, Timeline, Trend
from sitelog.report.handover.facts import handover
from sitelog.report.photos import shrunk
from sitelog.report.rendering import render


def page_of(site: Site, findings: Iterable[Finding]) -> str:
    """The page of a site with its photos; `findings` are those of everything that was read with it."""
    return page(handover(site, findings, shrunk))


def page(facts: Handover) -> str:
    """The page as HTML."""
    return render("handover.html", facts=facts, draw=draw)


def draw(picture: Picture) -> str:
    """A picture as SVG; empty where there is nothing to draw."""
    match picture:
        case Strips(name=name, points=points, unit=unit, log=log):
            from sitelog.report.pictures.strips import strips

            return strips(points, unit, name=name, log=log)
        case Trend(name=name, lines=lines, unit=unit, low=low, high=high, log=log):
            from sitelog.report.pictures.trend import trend

            return trend(lines, unit, name=name, low=low, high=high, log=log)
        case SpreadPicture(name=name, points=points, unit=unit, allowed=allowed):
            from sitelog.report.pictures.spread import spread

            return spread(points, unit, name=name, allowed=allowed)
        case Timeline(name=name, events=events):
            from sitelog.report.pictures.timeline import timeline

            return timeline(events, name=name)
        case Course(name=name, curve=curve):
            from sitelog.report.pictures.trial import trial

            return trial(curve, name=name)

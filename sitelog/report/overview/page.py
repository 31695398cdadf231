"""The facts of an overview → one HTML page: pictures drawn, every text escaped by the template engine."""

from __future__ import annotations

from sitelog.report.overview.document import Overview, OverviewPicture
from sitelog.report.rendering import render


def page(facts: Overview) -> str:
    """The page as HTML."""
    return render("overview.html", facts=facts, drawn=drawn)


def drawn(picture: OverviewPicture) -> str:
    """A picture as SVG."""
    if picture.picture == "bars":
        from sitelog.report.pictures.bars import bars

        return bars(picture.data, name=picture.name)
    if picture.picture == "boxes":
        from sitelog.report.pictures.boxes import boxes

        return boxes(picture.data, picture.unit, name=picture.name, low=0, high=100)
    from sitelog.report.pictures.strips import strips

    return strips(picture.data, picture.unit, name=picture.name)

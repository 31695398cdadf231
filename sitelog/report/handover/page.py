"""The facts of a handover → one HTML page: pictures drawn, every text escaped by the template engine."""

from __future__ import annotations

from sitelog.report.handover.document import Handover
from sitelog.report.rendering import render


def page(facts: Handover) -> str:
    """The page as HTML."""
    return render("handover.html", facts=facts)

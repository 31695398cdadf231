"""What the overview says, before it is HTML or Markdown; tables and words are those of the handover."""

from __future__ import annotations

from typing import Any

from sitelog.base.frozen import record
from sitelog.report.handover.document import Cell, Items, PageTable, Words


@record
class OverviewPicture:
    """What is drawn by one of `pictures/`: `bars`, `boxes` or `strips`, of data such as that takes."""

    caption: str
    picture: str
    name: str
    data: tuple[Any, ...]
    unit: str = ""
    sort = "picture"


@record
class Listed:
    """One site that needs a visit, with the reasons, the gravest first."""

    site: Cell
    reasons: tuple[Cell, ...]


@record
class Ranking:
    """The sites that need a visit, the most urgent first; `more` are left out."""

    listed: tuple[Listed, ...]
    sort = "ranking"


Part = OverviewPicture | Ranking | PageTable | Words | Items


@record
class OverviewSection:
    """One section with its heading, the anchor that leads to it, and a number or two for the contents."""

    anchor: str
    title: str
    short: str
    parts: tuple[Part, ...]


@record
class StateCount:
    """How many sites are in one state."""

    shape: str
    word: str
    look: str
    number: int


@record
class Overview:
    """The whole page."""

    title: str
    judged: str  # the day by which everything was judged
    sites: int
    states: tuple[StateCount, ...]
    sections: tuple[OverviewSection, ...]
    how: tuple[str, ...]  # how to see more than stands here
    cautions: tuple[str, ...]

"""Small invented fleets for the overview, and a reader of its pages."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import NamedTuple

import sitelog
from sitelog.report.overview import overview
from sitelog.report.overview.document import Overview, OverviewSection, Part, Ranking

EXAMPLES = Path(__file__).parents[3] / "example_logs"
TODAY = date(2026, 11, 25)

SHEET = """\
sheet  small-1 revision A  "Small unit"
source "guide for small-1, revision A"
joint  foot-1..4  10 Nm +-10 %  every 6 months
reading insulation  dc-pos/earth  >= 1 MΩ at 500 V
reading continuity  frame/earth  <= 1 ohm
look   wall
step   breaker-on  after foot
"""
KIT = """\
kit  van-1
tool W1 torque-wrench 1..20 Nm +-4 %
tool W2 torque-wrench 1..20 Nm +-4 %
tool M1 insulation 0..999 MΩ +-3 %, continuity 0..20 ohm +-2 %
calibrated W1 2026-03-01 due 2027-03-01 cert C-1
calibrated W2 2025-06-01 due 2026-06-01 cert C-2
calibrated M1 2026-01-10 due 2026-12-10 cert C-3
"""
HEAD = """\
site  {name}  "{title}"
sheet small-1
kit   van-1
crew  mo lead
visit install
day   {day}
08:00 use W1, M1
"""
DONE = """\
08:10 torque foot-1..4 10.0 10.1 9.9 10.2 Nm
08:20 reading insulation dc-pos/earth 200 MΩ at 500 V
08:21 reading continuity frame/earth 0.12 ohm
08:30 look wall ok
08:40 did breaker-on
"""
SIGNED = "09:30 sign mo installed\n"


def log(
    folder: Path, name: str, lines: str = DONE + SIGNED, *, title: str = "Wall", day: str = "2026-11-20"
) -> None:
    """One more log in a folder, beside the sheet and the kit."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "small-1.sheet").write_text(SHEET, encoding="utf-8")
    (folder / "van-1.kit").write_text(KIT, encoding="utf-8")
    number = len(list(folder.glob("*.site")))
    text = HEAD.format(name=name, title=title, day=day) + lines
    (folder / f"log-{number:03}.site").write_text(text, encoding="utf-8")


def facts(folder: Path | str, pages: dict[str, str] | None = None, today: date = TODAY) -> Overview:
    """The overview of the logs in a folder."""
    logs = sitelog.load([str(folder)], today)
    return overview(logs.ask, today, {one.site: one.headlines for one in logs.loud}, pages or {})


def section(facts: Overview, anchor: str) -> OverviewSection:
    """A section by its anchor."""
    return next(one for one in facts.sections if one.anchor == anchor)


def ranked(facts: Overview) -> list[tuple[str, list[str]]]:
    """Each site that needs a visit, with its reasons in words."""
    found: Sequence[Part] = section(facts, "visit").parts
    return [
        (one.site.text, [reason.text for reason in one.reasons])
        for part in found
        if isinstance(part, Ranking)
        for one in part.listed
    ]


class ReadTable(NamedTuple):
    """A table of a page, and the paragraph behind it."""

    caption: str
    heads: list[str]
    rows: list[list[str]]
    behind: str


class Reader(HTMLParser):
    """Reads the tables, the links and the names of all elements of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tables: list[ReadTable] = []
        self.links: list[str] = []
        self.ids: list[str] = []
        self.elements: set[str] = set()
        self.attributes: set[str] = set()
        self._text: list[str] | None = None
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """What begins here."""
        self.elements.add(tag)
        self.attributes |= {name for name, _ in attrs}
        given = dict(attrs)
        if tag == "a":
            self.links.append(given.get("href") or "")
        if given.get("id"):
            self.ids.append(given["id"] or "")
        if tag == "table":
            self.tables.append(ReadTable("", [], [], ""))
        elif tag == "tr" and self.tables:
            self.tables[-1].rows.append([])
        if tag in ("caption", "th", "td", "p"):
            self._text = []

    def handle_data(self, data: str) -> None:
        """Words."""
        if self._text is not None:
            self._text.append(data)

    def handle_endtag(self, tag: str) -> None:
        """What ends here."""
        if tag not in ("caption", "th", "td", "p") or self._text is None:
            return
        words = " ".join("".join(self._text).split())
        self._text = None
        if not self.tables:
            return
        table = self.tables[-1]
        if tag == "caption":
            self.tables[-1] = table._replace(caption=words)
        elif tag == "p":
            self.tables[-1] = table._replace(behind=table.behind or words)
        else:
            table.rows[-1].append(words)


def tables(text: str) -> list[ReadTable]:
    """The tables of a page; the first row of each is its heads."""
    return [one._replace(heads=one.rows[0], rows=one.rows[1:]) for one in Reader(text).tables]

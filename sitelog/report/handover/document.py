"""What a page says, before it is HTML or Markdown: sections of tables, tiles, pictures, photos and lines.

Nothing here is markup: every text is plain, and what shows it escapes it. A link leads into the page (`#l-27`
for line 27 of the log). A `look` is `good`, `bad`, `open` or `quiet`, as the style sheet has them.
"""

from __future__ import annotations

from datetime import date

from sitelog.base.frozen import record
from sitelog.files.trials.curve import Curve
from sitelog.report.pictures.shapes import Event, PlottedValue


@record
class Cell:
    """One text with where it leads, how it looks, a smaller note below it, and whether it was struck."""

    text: str
    link: str = ""
    look: str = ""
    note: str = ""
    struck: bool = False


@record
class ColumnHead:
    """The head of a column; its look is `number`, `when` (not broken), `words` (long), `short` or `tiny`."""

    text: str
    look: str = ""


def heads_of(text: str) -> tuple[ColumnHead, ...]:
    """Heads of a text such as `what …; values #; day @`: `…` long text, `#` numbers, `@` never broken."""
    looks = {"…": "words", "#": "number", "@": "when"}
    parts = (one.strip().rpartition(" ") for one in text.split(";"))
    return tuple(
        ColumnHead(before, looks[last]) if last in looks else ColumnHead(f"{before} {last}".strip())
        for before, _, last in parts
    )


@record
class PageTable:
    """Rows under their heads; the first cell of each names the row."""

    caption: str
    heads: tuple[ColumnHead, ...]
    rows: tuple[tuple[Cell, ...], ...]
    sort = "table"


@record
class Tile:
    """One place at a glance."""

    place: str
    value: str
    verdict: Cell
    link: str = ""


@record
class Group:
    """Tiles that one limit is asked of."""

    name: str
    asked: str
    tiles: tuple[Tile, ...]


@record
class Tiles:
    """A map of places, in the groups that one line of a sheet asks for."""

    caption: str
    groups: tuple[Group, ...]
    sort = "tiles"


@record
class Words:
    """One paragraph."""

    text: str
    look: str = ""
    sort = "words"


@record
class Items:
    """A list."""

    items: tuple[Cell, ...]
    name: str = ""
    sort = "items"


@record
class Strips:
    """Values beside their limits, drawn one row each; with `log` on a scale of decades."""

    caption: str
    name: str
    points: tuple[PlottedValue, ...]
    unit: str
    log: bool = False
    sort = "strips"


@record
class Trend:
    """Values over the visits, by place; of each its day, its number and its bound."""

    caption: str
    name: str
    lines: tuple[tuple[str, tuple[tuple[date, float, str], ...]], ...]
    unit: str
    low: float | None = None
    high: float | None = None
    log: bool = False
    sort = "trend"


@record
class SpreadPicture:
    """Cells or modules side by side, with the distance that is allowed between them."""

    caption: str
    name: str
    points: tuple[PlottedValue, ...]
    unit: str
    allowed: float | None
    sort = "spread"


@record
class Timeline:
    """One day from top to bottom."""

    caption: str
    name: str
    events: tuple[Event, ...]
    sort = "timeline"


@record
class Course:
    """A trial over time."""

    caption: str
    name: str
    curve: Curve
    sort = "course"


Picture = Strips | Trend | SpreadPicture | Timeline | Course


@record
class Figures:
    """Pictures that belong together; the numbers in them stand in a table near by."""

    pictures: tuple[Picture, ...]
    sort = "figures"


@record
class PagePhoto:
    """One photo: its bytes as a `data:` address, or why it is not shown."""

    name: str  # its file
    about: str  # what the log says it shows
    address: str
    width: int
    height: int
    reason: str
    link: str


@record
class Photos:
    """Photos side by side."""

    caption: str
    photos: tuple[PagePhoto, ...]
    sort = "photos"


@record
class LogLine:
    """One line of a log as written, with what there is to say about it."""

    number: int
    anchor: str
    text: str
    notes: tuple[Cell, ...] = ()
    struck: bool = False
    comment: bool = False


@record
class Verbatim:
    """One log file, line by line."""

    file: str
    lines: tuple[LogLine, ...]
    sort = "verbatim"


Part = PageTable | Tiles | Words | Items | Figures | Photos | Verbatim


@record
class HandoverSection:
    """One section with its heading and the anchor that leads to it."""

    anchor: str
    title: str
    parts: tuple[Part, ...]


@record
class Cover:
    """The first page, for the owner alone."""

    site: str
    title: str
    judged: str  # the day by which everything was judged
    shape: str
    word: str
    look: str
    meaning: str
    what: tuple[Cell, ...]
    where: tuple[Cell, ...]
    who: tuple[Cell, ...]
    when: tuple[Cell, ...]
    open: tuple[Cell, ...]
    more: int  # things open that the first page has no room for
    todo: tuple[Cell, ...]
    call: tuple[Cell, ...]
    cautions: tuple[str, ...]


@record
class Handover:
    """A whole page."""

    cover: Cover
    sections: tuple[HandoverSection, ...]

"""What a page says, before it is HTML or Markdown: sections of tables, tiles, pictures, photos and lines.

Nothing here is markup: every text is plain, and what shows it escapes it. A link leads into the page (`#l-27`
for line 27 of the log). A `look` is `good`, `bad`, `open` or `quiet`, as the style sheet has them.
"""

from __future__ import annotations

from sitelog.frozen import record
from sitelog.report.pictures.shapes import Point


@record
class Cell:
    """One text with where it leads, how it looks, a smaller note below it, and whether it was struck."""

    text: str
    link: str = ""
    look: str = ""
    note: str = ""
    struck: bool = False


@record
class Head:
    """The head of a column; its look is `number`, `words` (long text) or nothing."""

    text: str
    look: str = ""


@record
class Table:
    """Rows under their heads; the first cell of each names the row."""

    caption: str
    heads: tuple[Head, ...]
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
    """A map of places, in groups."""

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
    """Values beside their limits, to be drawn one row each."""

    caption: str
    points: tuple[Point, ...]
    unit: str
    name: str
    log: bool = False
    sort = "strips"


@record
class Photo:
    """One photo: its bytes as a `data:` address, or why it is not shown."""

    name: str
    about: str
    address: str
    width: int
    height: int
    reason: str
    link: str


@record
class Photos:
    """Photos side by side."""

    caption: str
    photos: tuple[Photo, ...]
    sort = "photos"


@record
class Line:
    """One line of a log as written, with what there is to say about it."""

    number: int
    anchor: str
    text: str
    notes: tuple[Cell, ...] = ()
    struck: bool = False


@record
class Verbatim:
    """One log file, line by line."""

    file: str
    lines: tuple[Line, ...]
    sort = "verbatim"


Part = Table | Tiles | Words | Items | Strips | Photos | Verbatim


@record
class Section:
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
    sections: tuple[Section, ...]

"""The two small types that say where something stands and what is the matter with it."""

from sitelog.base.frozen import NamedTuple


class Span(NamedTuple):
    """A stretch of one line of a file. Lines and columns count from 1, in characters; the end is exclusive.

    `text` is the line as written.
    """

    file: str
    line: int = 1
    column: int = 1
    end_column: int = 2
    text: str = ""


class Finding(NamedTuple):
    """One thing to say about one place in one file.

    `severity` is `error` (the entry is wrong, or the work is), `warning` or `info`; `slug` is a
    key of the catalog; `help` is empty where nothing can be done; `text` is the line as written.
    """

    slug: str
    severity: str
    message: str
    help: str
    file: str
    line: int
    column: int
    end_column: int
    text: str = ""

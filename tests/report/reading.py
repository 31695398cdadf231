"""An HTML page read back: its tables by their captions, what it holds of tags, and every text."""

from __future__ import annotations

from html.parser import HTMLParser

_VOID = {"wbr", "meta", "img", "br", "hr", "link", "input"}


class Page(HTMLParser):
    """A page with its tables as lists of rows, each a dict from head to text; notes stand behind a `|`."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tables: dict[str, list[dict[str, str]]] = {}
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.text = ""
        self.unclosed: list[str] = []
        self._caption = self._cell = ""
        self._heads: list[str] = []
        self._row: list[str] = []
        self._in = ""
        self._quiet = 0
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        found = dict(attributes)
        self.tags.append((tag, found))
        if found.get("id"):
            self.ids.append(str(found["id"]))
        if tag == "a":
            self.links.append(str(found.get("href")))
        if tag in ("style", "script"):
            self._quiet += 1
        if tag not in _VOID:
            self.unclosed.append(tag)
        if tag == "caption":
            self._caption, self._in = "", "caption"
        elif tag == "thead":
            self._heads = []
        elif tag == "tr":
            self._row = []
        elif tag in ("th", "td"):
            self._cell, self._in = "", "cell"
        elif tag == "span" and self._in == "cell" and "note" in str(found.get("class")):
            self._cell = self._cell.rstrip() + "|"

    def handle_startendtag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attributes)
        if tag not in _VOID:
            self.unclosed.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.unclosed, f"</{tag}> closes nothing"
        assert self.unclosed.pop() == tag
        if tag in ("style", "script"):
            self._quiet -= 1
        if tag == "caption":
            self._caption = self._caption.strip()
            self.tables.setdefault(self._caption, [])
            self._in = ""
        elif tag in ("th", "td"):
            self._row.append(" ".join(self._cell.split()))
            self._in = ""
        elif tag == "tr":
            if not self._heads:
                self._heads = self._row
            else:
                self.tables[self._caption].append(dict(zip(self._heads, self._row, strict=True)))

    def handle_data(self, data: str) -> None:
        if not self._quiet:
            self.text += data
        if self._in == "caption":
            self._caption += data
        elif self._in == "cell":
            self._cell += data

"""Facts and templates → a page. The engine escapes every field; only our own pictures pass as they are."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sitelog.base.text import printable

if TYPE_CHECKING:
    from jinja2 import Environment

_TEMPLATES = Path(__file__).with_name("templates")

_LONG_WORD = re.compile(r"\S{25,}")
_PIECE = 8


def render(template: str, **facts: Any) -> str:
    """The page of a template, such as `handover.html`, ending with a line end."""
    return _environment().get_template(template).render(**facts).rstrip() + "\n"


@cache  # templates are compiled once, for a page or for a thousand
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        # Markdown has no tags of its own to escape, but what shows it lets HTML through.
        autoescape=True,
        finalize=_visible,
        undefined=StrictUndefined,  # a field misspelt in a template is an error, not a blank in a document
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["css_string"] = _css_string
    environment.filters["pieces"] = _pieces
    return environment


def _pieces(text: str) -> list[str]:
    """A text in the pieces between which a line may break: whole, but for words too long for a cell."""
    found, start = [], 0
    for word in _LONG_WORD.finditer(text):
        for at in range(word.start() + _PIECE, word.end() - _PIECE // 2, _PIECE):
            found.append(printable(text[start:at]))
            start = at
    return [*found, printable(text[start:])]


def _visible(value: Any) -> Any:
    """A text with what would not be seen, or would turn others round, as a visible escape."""
    return printable(value) if isinstance(value, str) and not hasattr(value, "__html__") else value


def _css_string(text: str) -> str:
    """A string of a style sheet, whatever stands in it: all but plain letters and digits by their numbers.

    Nothing in it ends the string, the style or the tag, so it needs no more escaping.
    """
    plain = (one if one.isascii() and one.isalnum() else f"\\{ord(one):x} " for one in text)
    return f'"{"".join(plain)}"'

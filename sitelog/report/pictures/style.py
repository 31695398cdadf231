"""The common look: the page's colours, the mark and the class of each verdict, sizes and words of axes.

Pictures are drawn in the page's light colours; `drawing.py` turns each into the page's variable with that
colour to fall back on, so dark and print follow. Sizes are in units of the picture: it is 420 wide, so that
14 units are some 11 pixels on the narrowest phone and the page's own size of text on a desk.
"""

from __future__ import annotations

from sitelog.base.verdicts import FAILING, NOT_APPLICABLE

WIDTH = 420.0
TEXT = 14.0  # height of letters
LINE = 17.0  # from line to line
TALLEST = 880.0  # a taller picture goes on in a second one, so that a printed page can hold each

FONTS = "system-ui, 'Noto Sans', 'DejaVu Sans', sans-serif"

PALETTE = {
    "paper": "#fcfbf7",
    "sheet": "#ffffff",
    "band": "#f1efe6",
    "rule": "#b9b6a6",
    "ink": "#1c221f",
    "quiet": "#545a54",
    "accent": "#14565c",
    "good": "#1e5a31",
    "bad": "#96190f",
    "open": "#704400",
}
"""The page's variables and their values on light paper: what a picture shows outside the page."""

SIGNS = {"good": "✓", "bad": "✗", "open": "△", "missing": "○", "quiet": "–", "plain": ""}
"""What stands in front of a value in words."""

MARKERS = {
    "good": "circle",
    "bad": "cross",
    "open": "triangle",
    "missing": "circle",
    "quiet": "diamond",
    "plain": "circle",
}
"""The shape that stands at a value."""

HOLLOW = frozenset({"open", "missing", "quiet"})
"""Only what passed and what failed is filled: the rest reads as not decided, in black and white too."""


def class_of(verdict: str) -> str:
    """The class of a verdict: good, bad, open, missing (one of the open with its own mark), quiet.

    What has no verdict at all is plain.
    """
    if not verdict:
        return "plain"
    if verdict == "pass":
        return "good"
    if verdict in FAILING:
        return "bad"
    if verdict == "missing":
        return "missing"
    return "quiet" if verdict in ("no-limit", NOT_APPLICABLE) else "open"


def colour_of(kind: str) -> str:
    """The name of the colour of a class of verdicts."""
    return {"missing": "open", "plain": "ink"}.get(kind, kind)

"""Reads the pages of findings: their parts, and the files of their examples."""

import re
from pathlib import Path

from sitelog.findings.catalog import page_path

LABELS = ("Meaning:", "Why it matters:", "Wrong:", "Right", "How to clear it:")
"""Every page has these, in this order, each at the beginning of a line."""

_BLOCK = re.compile(r"^```(log|text)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
_FILE = re.compile(r"^== (\S+)\n(.*?)(?=^== |\Z)", re.DOTALL | re.MULTILINE)


def page(slug: str) -> str:
    return Path(page_path(slug)).read_text(encoding="utf-8")


def blocks(slug: str) -> list[tuple[str, str]]:
    """The two example blocks with their language: `log` can be checked, `text` only read."""
    return [(match[1], match[2]) for match in _BLOCK.finditer(page(slug))]


def examples(slug: str) -> tuple[dict[str, str], dict[str, str]] | None:
    """The files of the wrong and of the right example, or None where they can't be shown as logs.

    What the right example does not show again stays as in the wrong one.
    """
    wrong, right = blocks(slug)
    if wrong[0] == "text":
        return None
    before = dict(_FILE.findall(wrong[1]))
    return before, {**before, **dict(_FILE.findall(right[1]))}

"""Findings and the summary of sites as text for people and as JSON for programs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sitelog.base.text import display_width, printable
from sitelog.findings.finding import Finding

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sitelog.views.shapes import SiteSummary

CAUTION = (
    "This is a record and an aid: local code, the maker's instructions and a licensed person decide. "
    "Prove dead before you touch."
)
"""Stands once at the end of every text that someone may act on."""

READY = "nothing missing by these sheets"
"""How `ready` is worded: what the sheets ask is there. It never means safe or compliant."""

_INDENT = "    "
_TAB = 8
_WIDEST = 160  # columns of a line shown; of a longer one the stretch around the span
_COLOURS = {"error": "31", "warning": "33", "info": "36"}
_NUMBERS = (
    "joints",
    "joints_under",
    "readings",
    "readings_failing",
    "defects_open",
    "missing",
    "errors",
    "warnings",
)


def findings_text(findings: Iterable[Finding], *, color: bool = False) -> str:
    """Every finding with its line and a caret under its span, in the order of the files' lines."""
    ordered = sorted(findings, key=lambda one: (one.file, one.line, one.column))
    parts: list[str] = []
    for at, one in enumerate(ordered):
        # A line that several findings speak of is shown once, below the last of them.
        after = ordered[at + 1] if at + 1 < len(ordered) else None
        last = after is None or _excerpt(after) != _excerpt(one)
        parts.append(finding_text(one, color=color, excerpt=last))
    return "".join(parts)


def _excerpt(one: Finding) -> tuple[str, int, int, int]:
    return one.file, one.line, one.column, one.end_column


def finding_text(one: Finding, *, color: bool = False, excerpt: bool = True) -> str:
    """One finding: where, what, the line, the caret, and what can be done; ends with a line end."""
    where = f"{printable(one.file)}:{one.line}:{one.column}"
    severity = paint(one.severity, _COLOURS.get(one.severity, ""), color)
    text = f"{where}: {severity}: {printable(one.message)} [{one.slug}]\n"
    if one.text and excerpt:
        line, caret = _line_and_caret(one.text, one.column, one.end_column)
        text += f"{_INDENT}{line}\n{_INDENT}{caret}\n"
    if one.help:
        text += f"{_INDENT}help: {printable(one.help)}\n"
    return text


def summary_text(sites: Iterable[SiteSummary]) -> str:
    """One aligned row per site under a heading; empty where there is no site."""
    rows = [("site", *(name.replace("_", " ") for name in _NUMBERS), "state")]
    for one in sites:
        state = READY if one.ready else "not ready"
        if one.sheets:
            state += f" ({printable(', '.join(one.sheets))})"
        rows.append((printable(one.site), *(str(getattr(one, name)) for name in _NUMBERS), state))
    if len(rows) == 1:
        return ""
    widths = [max(display_width(row[column]) for row in rows) for column in range(len(rows[0]))]
    return "".join(_aligned(row, widths) for row in rows)


def headlines_text(sites: Iterable[SiteSummary], *, color: bool = False) -> str:
    """What stands above everything else: an open danger, a job left half way."""
    return "".join(
        paint(f"{printable(one.site)}: {printable(line)}", "1;31", color) + "\n"
        for one in sites
        for line in one.headlines
    )


def as_json(findings: Iterable[Finding], sites: Iterable[SiteSummary]) -> str:
    """The object of `check --format json`: findings and sites, with fixed keys."""
    import json  # not at the top: text output has no need of it

    keys = ("slug", "severity", "message", "help", "file", "line", "column", "end_column")
    answer = {
        "findings": [{key: getattr(one, key) for key in keys} for one in findings],
        "sites": [
            {
                "site": one.site,
                "file": one.file,
                "sheets": list(one.sheets),
                **{name: getattr(one, name) for name in _NUMBERS},
                "ready": bool(one.ready),
            }
            for one in sites
        ],
    }
    return json.dumps(answer, ensure_ascii=False, indent=2) + "\n"


def paint(text: str, code: str, color: bool) -> str:
    """The text in a terminal colour where colour is wanted."""
    return f"\x1b[{code}m{text}\x1b[0m" if color and code else text


def _aligned(row: Sequence[str], widths: Sequence[int]) -> str:
    """Words to the left, numbers to the right."""
    cells = []
    for at, (cell, width) in enumerate(zip(row, widths, strict=True)):
        gap = " " * (width - display_width(cell))
        cells.append(gap + cell if 0 < at < len(row) - 1 else cell + gap)
    return "  ".join(cells).rstrip() + "\n"


def _line_and_caret(text: str, column: int, end_column: int) -> tuple[str, str]:
    """The line as a terminal can show it, and carets exactly under columns `column` to `end_column`."""
    start = column - 1
    end = max(end_column - 1, start + 1)
    first = max(0, min(start, len(text)) - _WIDEST // 2) if len(text) > _WIDEST else 0
    last = min(len(text), first + _WIDEST)
    shown, caret, at = ("…", " ", 1) if first else ("", "", 0)
    for index in range(first, last):
        cell = " " * (_TAB - at % _TAB) if text[index] == "\t" else printable(text[index])
        width = display_width(cell)
        shown += cell
        caret += ("^" if start <= index < end else " ") * width
        at += width
    if last < len(text):
        shown += "…"
    if "^" not in caret:  # the span stands behind the line's end: something is wanted there
        caret += "^"
    return shown.rstrip(), caret.rstrip()

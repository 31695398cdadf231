"""Tools of the whole fleet whose calibration has run out or soon will, and where they are in use."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.report.overview.asking import AnsweredRow, Ask

SOON = (30, 90)
"""Days in which a calibration runs out."""

_NONE = "no calibration"


class DueTool(NamedTuple):
    """A tool, how many days are left (fewer than none: it has run out), and the sites it was used at.

    `left` is None for a tool that never had a calibration. Each site comes with the day of the newest value.
    """

    row: AnsweredRow
    left: int | None
    used: tuple[tuple[str, date | None], ...]

    @property
    def when(self) -> str:
        """How soon, in words."""
        if self.left is None:
            return "never calibrated"
        if self.left < 0:
            return "has run out"
        return next(f"within {days} days" for days in SOON if self.left <= days)


def due_tools(ask: Ask, today: date) -> list[DueTool]:
    """The tools to send first, first."""
    found: list[tuple[AnsweredRow, int | None]] = []
    for row in ask("tools sort due"):
        if row["due"] is None and row["verdict"] == _NONE:
            found.append((row, None))
        elif row["due"] is not None and (row["due"] - today).days <= SOON[-1]:
            found.append((row, (row["due"] - today).days))
    used = _used(ask) if found else {}
    return [DueTool(row, left, used.get((row["kit"], row["tool"]), ())) for row, left in found]


def _used(ask: Ask) -> dict[tuple[str, str], tuple[tuple[str, date | None], ...]]:
    """For each tool the sites with values by it, the newest first."""
    days: dict[tuple[str, str], dict[str, date | None]] = defaultdict(dict)
    for subject in ("joints", "readings"):
        for row in ask(f"newest day of {subject} per kit, tool, site"):
            if row["tool"] and row["kit"]:
                sites = days[row["kit"], row["tool"]]
                before = sites.get(row["site"])
                sites[row["site"]] = max(filter(None, (before, row["day"])), default=None)
    return {
        tool: tuple(sorted(sites.items(), key=lambda one: (-(one[1] or date.min).toordinal(), one[0])))
        for tool, sites in days.items()
    }

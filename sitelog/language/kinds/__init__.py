"""The kinds of entry: one row for each word that begins a line, collected from the files of their families.

Adding a kind: a rule in `grammar/`, a reader and a row in a family's file, a corpus file. Tests hold these
tables against the grammars, and say what is missing.
"""

from __future__ import annotations

from collections.abc import Callable

from sitelog.language.kinds import electric, header, hole, look, paper, part, reading, step, tool, torque
from sitelog.language.kinds.base import Reader
from sitelog.language.kinds.kind import LOG, SHEET

__all__ = ["KIT", "LOG", "SHEET"]

for _family in (header, step, reading, part, look, hole, torque, electric, paper):
    LOG.update({_row.word: _row for _row in _family.LOG_KINDS})
for _asking in (part, hole, torque, look, reading, electric, paper, step):
    SHEET.update({_row.word: _row for _row in _asking.SHEET_KINDS})

KIT: dict[str, Callable[[Reader], tool.Tool | tool.Calibration | None]] = {
    "tool": tool.read_tool,
    "calibrated": tool.read_calibrated,
}

"""The kinds of entry: for each word that begins a line, the function that makes a record of it.

Adding a kind: a rule in `grammar/`, a reader here, a corpus file. A test holds these tables against
the grammars.
"""

from __future__ import annotations

from collections.abc import Callable

from sitelog.language.kinds import electric, header, hole, look, paper, part, reading, step, tool, torque
from sitelog.language.kinds.base import Reader, Record
from sitelog.language.kinds.requirement import Requirement

LOG: dict[str, Callable[[Reader], Record | None]] = {
    "site": header.read_site,
    "sheet": header.read_sheet,
    "kit": header.read_kit,
    "crew": header.read_crew,
    "zone": header.read_zone,
    "visit": header.read_visit,
    "day": header.read_day,
    "use": header.read_use,
    "lock": step.read_lock,
    "unlock": step.read_lock,
    "did": step.read_did,
    "dead": reading.read_dead,
    "serial": part.read_serial,
    "swap": part.read_swap,
    "removed": part.read_removed,
    "registered": part.read_registered,
    "scan": part.read_scan,
    "look": look.read_look,
    "hole": hole.read_hole,
    "torque": torque.read_torque,
    "loosed": torque.read_loosed,
    "reading": reading.read_reading,
    "cable": electric.read_cable,
    "device": electric.read_device,
    "set": look.read_set,
    "series": electric.read_series,
    "defect": paper.read_defect,
    "cleared": paper.read_cleared,
    "photo": paper.read_photo,
    "ref": paper.read_ref,
    "note": paper.read_text,
    "todo": paper.read_text,
    "done": paper.read_text,
    "away": paper.read_text,
    "back": paper.read_text,
    "n/a": paper.read_na,
    "strike": paper.read_strike,
    "sign": paper.read_sign,
    "received": paper.read_received,
}

OF_REMARK = frozenset(
    {"dead", "swap", "look", "defect", "note", "todo", "done", "away", "back", "n/a", "strike"} | {"sign"}
)
"""Kinds of which a record may depend on the entry's remark, or on where that ends."""
OF_LIBRARIES = frozenset({"scan", "zone"})
"""Kinds of which a record depends on what is installed."""

ONCE = frozenset({"site", "serial", "swap", "ref", "note", "todo", "defect"})
"""Kinds of which hardly two entries say the same, of all sites: names, numbers of things, free words."""

MEASURED = frozenset({"torque", "reading", "cable"})
"""Kinds of which a record depends on the numbers that its reader says it `made` by nothing but those."""

SHEET: dict[str, Callable[[Reader], list[Requirement]]] = {
    "part": part.read_asked,
    "hole": hole.read_asked,
    "joint": torque.read_joint,
    "look": look.read_asked_look,
    "reading": reading.read_asked,
    "spread": reading.read_spread,
    "cable": electric.read_asked_cable,
    "set": look.read_asked_set,
    "series": electric.read_asked_series,
    "photo": paper.read_asked_photo,
    "step": step.read_asked,
    "dead": reading.read_asked_dead,
    "registered": part.read_asked_registered,
    "ref": paper.read_asked_ref,
}

KIT: dict[str, Callable[[Reader], tool.Tool | tool.Calibration | None]] = {
    "tool": tool.read_tool,
    "calibrated": tool.read_calibrated,
}

"""What was done and measured: parts, joints, holes, readings, looks, cables, steps, settings, trials."""

from __future__ import annotations

from sitelog.report.handover.document import Part
from sitelog.report.handover.told import Told, columns_of

_BEHIND = "source source of the limit; tool tool; cert certificate"
_WHEN = "by by; day day; time time; verdict verdict; line where"


def _some(*parts: Part | None) -> list[Part]:
    return [part for part in parts if part is not None]


def parts(told: Told) -> list[Part]:
    """Which serial sits where, and what sat there before."""
    columns = columns_of(
        "part part; serial serial; since since; until until; previous before it; "
        "moved_from came from; moved_to went to; registered registered; source source; "
        "verdict verdict; line where"
    )
    return _some(
        told.table("parts", told.rows("parts"), "Every part that sits here now, or is asked", columns)
    )


def joints(told: Told) -> list[Part]:
    """Every joint beside its limits."""
    columns = columns_of(
        "place joint; value torque; low at least; high at most; margin margin; "
        f"probability probability; {_BEHIND}; {_WHEN}"
    )
    return _some(told.table("joints", told.rows("joints"), "Every joint as it stands", columns))


def holes(told: Told) -> list[Part]:
    """Every hole beside its limits."""
    columns = columns_of(
        "place hole; diameter diameter; diameter_low at least; diameter_high at most; depth depth; "
        f"depth_low at least; depth_high at most; source source of the limit; {_WHEN}"
    )
    return _some(told.table("holes", told.rows("holes"), "Every hole as it stands", columns))


def readings(told: Told) -> list[Part]:
    """Every reading beside its limits."""
    columns = columns_of(
        "what reading; points between; value value; answer answer; at at; low at least; "
        f"high at most; margin margin; probability probability; {_BEHIND}; {_WHEN}"
    )
    return _some(told.table("readings", told.rows("readings"), "Every reading as it stands", columns))


def looks(told: Told) -> list[Part]:
    """What was looked at."""
    columns = columns_of(f"what looked at; place place; value found; wanted wanted; source source; {_WHEN}")
    return _some(told.table("looks", told.rows("looks"), "Everything looked at", columns))


def cables(told: Told) -> list[Part]:
    """Conductors with what was computed of them."""
    columns = columns_of(
        "place cable; size size; metal metal; length length; current current; voltage voltage; "
        "drop drop; drop_volts drop; loss loss; capacity may carry; fuse fuse; basis computed from; "
        f"source source of the limit; {_WHEN}"
    )
    return _some(
        told.table("cables", told.rows("cables"), "Conductors, with drop and loss computed", columns)
    )


def steps(told: Told) -> list[Part]:
    """Steps with their order and waits."""
    columns = columns_of(
        "step step; waited waited; wanted wait asked; after comes after; before comes before; "
        f"source source; {_WHEN}"
    )
    return _some(told.table("steps", told.rows("steps"), "Every step that is asked", columns))


def settings(told: Told) -> list[Part]:
    """Settings beside what is asked."""
    columns = columns_of(f"what setting; place of; value value; wanted asked; source source; {_WHEN}")
    return _some(told.table("settings", told.rows("settings"), "Settings", columns))


def trials(told: Told) -> list[Part]:
    """Trials with what their files gave."""
    columns = columns_of(
        "what trial; trial file; energy energy; capacity scaled; charge charge; soc_start from; "
        "soc_stop to; temperature mean temperature; spread spread; duration time under current; "
        f"gaps gaps; basis rests on; source source of the limit; {_WHEN}"
    )
    return _some(told.table("series", told.rows("series"), "Trials, with what their files gave", columns))

"""One picture of each kind, all from invented numbers."""

import json
import sys
from datetime import date
from math import nan

from sitelog.files.trials.curve import Channel, Curve
from sitelog.report.pictures.bars import bars
from sitelog.report.pictures.boxes import boxes
from sitelog.report.pictures.shapes import Event, PlottedValue
from sitelog.report.pictures.spread import spread
from sitelog.report.pictures.strips import strips
from sitelog.report.pictures.timeline import timeline
from sitelog.report.pictures.trend import trend
from sitelog.report.pictures.trial import trial

VERDICTS = ("pass", "under", "doubtful", "missing", "no-limit", "")
CURVE = Curve(
    (0.0, 60.0, 120.0, 600.0, 660.0, 720.0),
    (
        Channel("power", "", "W", (0.0, -3000.0, -3000.0, -2900.0, 0.0, 1000.0)),
        Channel("energy", "out", "Wh", (0.0, 25.0, 75.0, 75.0, 99.0, 99.0)),
        Channel("energy", "in", "Wh", (0.0, 0.0, 0.0, 0.0, 0.0, 8.0)),
        Channel("state of charge", "", "%", (90.0, None, 88.0, 60.0, 59.0, 60.0)),
    ),
    (3,),
    6,
)


def all_pictures(label: str = "lug") -> dict[str, str]:
    """A picture of each kind, with `label` in every field for words."""
    some = [
        PlottedValue(
            f"{label}-{nth}",
            nan if verdict == "missing" else 6.5 + nth / 3,
            6.0,
            8.0,
            "",
            0.2,
            verdict,
            "#l-3",
        )
        for nth, verdict in enumerate(VERDICTS)
    ]
    days = [date(2025, 3, 1), date(2026, 3, 1)]
    events = [
        Event(485, None, label, label, "pass", "#l-4"),
        Event(500, 502, label, label, "too-soon", "#l-5", 5),
        Event(490, None, label, "", "out-of-order"),
        Event(None, None, label, "note"),
    ]
    return {
        "strips": strips(some, "Nm", name=f"{label} torque"),
        "log": strips(
            [PlottedValue(label, 999, 1, None, ">", None, "pass")], "MΩ", name=f"{label} log", log=True
        ),
        "spread": spread(
            [PlottedValue(label, 3.31), PlottedValue(label, 3.35)], "V", name=label, allowed=0.03
        ),
        "trend": trend(
            [(label, [(days[0], 20, ">"), (days[1], 0.5, "")])], "MΩ", name=label, low=1, log=True
        ),
        "timeline": timeline(events, name=label),
        "trial": trial(CURVE, name=label),
        "boxes": boxes([(label, [1.0, 2.0, 3.0] * 4), (label, [2.0])], "%", name=label, low=1.5, high=2.5),
        "bars": bars([(label, 3, "good"), (label, 1, "bad"), (label, 2, "open")], name=label),
    }


if __name__ == "__main__":
    json.dump(all_pictures(), sys.stdout)

"""Three invented sites as rows, small enough to answer every question by hand. The day is 2026-03-20.

quay-14: eight joints of which bracket-8 is under and bracket-5 stands exactly at 0.9 of its target;
quay-15: two joints in in-lb, one only pre-tightened; barn-3: one joint re-opened, away since 1 March.
"""

import re
from datetime import date

from sitelog.asking.subjects import COMMON, SUBJECTS, Column, Subject
from sitelog.notation.quantities import Quantity, read_quantity

TODAY = date(2026, 3, 20)

_WRITTEN = re.compile(r"([<>]?)([0-9.+-]+) ?(.*)")


def quantity(text: str) -> Quantity:
    """`9.8 Nm` or `>999 MΩ` as a quantity."""
    match = _WRITTEN.fullmatch(text)
    assert match, text
    found, problems = read_quantity(match[2], match[3], match[1])
    assert found, problems
    return found


def row(subject: Subject, **cells: object) -> tuple[object, ...]:
    """One row; quantities as text, states made from the verdict and `more` states."""
    more = str(cells.pop("more", "")).split()
    states = [str(cells["verdict"])] if "verdict" in cells else []
    cells["states"] = f" {' '.join(states + more)} "
    unknown = set(cells) - {column.name for column in subject.all_columns}
    assert not unknown, f"{subject.name} have no {unknown}"
    return tuple(_cell(column, cells.get(column.name)) for column in subject.all_columns)


def _cell(column: Column, value: object) -> object:
    return quantity(str(value)) if column.type == "quantity" and value is not None else value


_LIMITS = {"target": "12 Nm", "low": "10.8 Nm", "high": "13.2 Nm"}
_IN_LB = {"target": "106 in-lb", "low": "95.4 in-lb", "high": "116.6 in-lb"}
_QUAY = {"site": "quay-14", "sheet": "wallstack-3", "visit": "install", "file": "quay-14.site"}
_QUAY_15 = {"site": "quay-15", "sheet": "wallstack-3", "visit": "install", "file": "quay-15.site"}
_BARN = {"site": "barn-3", "sheet": "wallstack-2", "visit": "service", "file": "barn-3.site"}
_MARCH = {"day": "2026-03-02", "by": "mo"}
_TW3 = {"tool": "TW3", "kit": "van-2", "cert": "K-2291", "tool_due": "2027-01-15"}
_TW5 = {"tool": "TW5", "kit": "van-2", "cert": "K-2292", "tool_due": "2026-02-15"}  # past due in March
_MF1 = {"tool": "MF1", "kit": "van-2", "cert": "K-1980", "tool_due": "2026-11-03"}


def _joints() -> list[dict[str, object]]:
    quay = {**_QUAY, **_MARCH, **_LIMITS, "unit": "Nm", "final": 1, "reworks": 0}
    values = ["12.1 Nm", "12.0 Nm", "11.9 Nm", "12.0 Nm"]
    rows: list[dict[str, object]] = [
        {
            **quay,
            **_TW3,
            "place": f"bracket-{number}",
            "value": value,
            "line": 19,
            "time": "09:20",
            "verdict": "pass",
            "margin": 0.4,
            "more": "signed",
            "text": "09:20 torque bracket-1..4 12.1 12.0 11.9 12.0 Nm",
        }
        for number, value in enumerate(values, 1)
    ]
    rows += [
        {
            **quay,
            **_TW5,
            "place": "bracket-5",
            "value": "10.8 Nm",
            "line": 20,
            "verdict": "pass",
            "margin": 0.0,
            "previous": "10.0 Nm",
            "reworks": 1,
            "more": "signed",
            "text": "09:22 torque bracket-5 10.8 Nm with TW5",
        },
        {
            **quay,
            **_TW5,
            "place": "bracket-8",
            "value": "9.8 Nm",
            "line": 21,
            "verdict": "under",
            "margin": -0.42,
            "by": "jp",
            "more": "signed",
            "reasons": "under, untraceable",
            "text": "09:24 torque bracket-8 9.8 Nm by jp with TW5",
        },
        {
            **quay,
            "place": "bracket-10",
            "value": None,
            "line": None,
            "day": None,
            "by": None,
            "verdict": "missing",
            "final": 0,
        },
        {
            **quay,
            **_TW3,
            "place": "dc-term-1",
            "value": "9.0 Nm",
            "target": "9 Nm",
            "low": "8.55 Nm",
            "high": "9.45 Nm",
            "line": 22,
            "verdict": "pass",
            "margin": 0.5,
            "text": "09:30 torque dc-term-1 9.0 Nm",
        },
    ]
    inch = {**_QUAY_15, **_IN_LB, **_TW3, "unit": "in-lb", "by": "al", "day": "2026-02-10", "final": 1}
    rows += [
        {**inch, "place": "bracket-1", "value": "106.0 in-lb", "line": 9, "verdict": "pass", "margin": 0.5},
        {**inch, "place": "bracket-2", "value": "35 in-lb", "line": 10, "verdict": "pre-only", "final": 0},
        {
            **_BARN,
            **_LIMITS,
            **_TW3,
            "place": "bracket-1",
            "value": "12.5 Nm",
            "unit": "Nm",
            "line": 7,
            "by": "mo",
            "day": "2026-03-01",
            "verdict": "reopened",
            "margin": 0.29,
            "final": 1,
            "reworks": 2,
        },
    ]
    return rows


def _torques() -> list[dict[str, object]]:
    made = [one for one in _joints() if one["value"] is not None]
    rows = [{**one, "mode": "final" if one["final"] else "pre"} for one in made]
    first = {**_QUAY, **_MARCH, **_TW5, **_LIMITS, "unit": "Nm", "final": 1, "mode": "final"}
    rows.append(
        {
            **first,
            "place": "bracket-5",
            "value": "10.0 Nm",
            "line": 18,
            "verdict": "under",
            "more": "replaced",
        }
    )
    return rows


def _readings() -> list[dict[str, object]]:
    quay = {**_QUAY, **_MARCH, **_MF1}
    insulation = {
        "what": "insulation",
        "at": "500 V",
        "condition": "500 V",
        "low": "1 MΩ",
        "source": "IEC 60364-6",
    }
    continuity = {"what": "continuity", "high": "1 ohm"}
    return [
        {**quay, **insulation, "points": "dc-pos/earth", "value": ">999 MΩ", "line": 30, "verdict": "pass"},
        {
            **quay,
            **insulation,
            "points": "dc-neg/earth",
            "value": "1.5 MΩ",
            "previous": "400 MΩ",
            "line": 31,
            "verdict": "pass",
            "text": "09:51 reading insulation dc-neg/earth 1.5 MΩ at 500 V",
        },
        {**quay, **insulation, "points": "ac/earth", "line": 32, "verdict": "not-tested"},
        {**quay, **continuity, "points": "frame/earth", "value": "0.12 ohm", "line": 33, "verdict": "pass"},
        {
            **quay,
            "what": "voltage",
            "points": "dc-pos/dc-neg",
            "value": "307 V",
            "low": "270 V",
            "high": "345 V",
            "line": 34,
            "verdict": "pass",
            "margin": 0.49,
        },
        {
            **quay,
            "what": "temperature",
            "points": "module-A",
            "value": "31.5 degC",
            "previous": "25 degC",
            "line": 35,
            "verdict": "no-limit",
        },
        {
            **quay,
            "what": "rcd-time",
            "points": "rcd2",
            "value": "24 ms",
            "condition": "30 mA, 180 deg",
            "high": "300 ms",
            "line": 36,
            "verdict": "pass",
        },
        {
            **quay,
            "what": "rcd-time",
            "points": "rcd2",
            "value": "18 ms",
            "condition": "150 mA",
            "high": "40 ms",
            "line": 37,
            "verdict": "pass",
        },
        {
            **_BARN,
            **_MF1,
            **insulation,
            "points": "dc-pos/earth",
            "value": "0.8 MΩ",
            "previous": ">999 MΩ",
            "line": 12,
            "day": "2026-03-01",
            "by": "mo",
            "verdict": "under",
        },
        {
            **_QUAY_15,
            **_MF1,
            **insulation,
            "points": "dc-pos/earth",
            "value": "1.9 MΩ",
            "line": 15,
            "day": "2025-12-30",
            "by": "al",
            "verdict": "pass",
        },
        {
            **_QUAY_15,
            **_MF1,
            **continuity,
            "points": "frame/lid",
            "value": "<0.01 ohm",
            "line": 16,
            "day": "2026-02-10",
            "by": "al",
            "verdict": "pass",
        },
    ]


def _others() -> dict[str, list[dict[str, object]]]:
    quay = {**_QUAY, **_MARCH}
    return {
        "parts": [
            {
                **quay,
                "part": "module-A",
                "serial": "QX2607-00418",
                "since": "2026-03-02",
                "line": 12,
                "verdict": "pass",
            },
            {
                **quay,
                "part": "module-B",
                "serial": "QX2607-00433",
                "since": "2026-03-02",
                "line": 40,
                "previous": "QX2607-00419",
                "verdict": "pass",
            },
            {
                **_BARN,
                "part": "module-A",
                "serial": "QX2607-01041",
                "since": "2025-06-01",
                "line": 5,
                "verdict": "pass",
            },
        ],
        "holes": [
            {
                **quay,
                "place": "anchor-1",
                "diameter": "12 mm",
                "depth": "62 mm",
                "depth_low": "60 mm",
                "line": 14,
                "verdict": "pass",
            },
            {
                **quay,
                "place": "anchor-2",
                "diameter": "12 mm",
                "depth": "55 mm",
                "depth_low": "60 mm",
                "line": 14,
                "verdict": "under",
            },
        ],
        "looks": [
            {**quay, "what": "wall-sound", "value": "ok", "wanted": "ok", "line": 13, "verdict": "pass"},
            {
                **quay,
                "what": "ventilation",
                "value": "not ok",
                "wanted": "ok",
                "line": 13,
                "verdict": "not-ok",
            },
            {**_BARN, "what": "ventilation", "wanted": "ok", "verdict": "missing"},
        ],
        "settings": [
            {
                **quay,
                "what": "firmware",
                "place": "inverter",
                "value": "2.3.12",
                "line": 50,
                "verdict": "pass",
            },
            {
                **_BARN,
                "what": "firmware",
                "place": "inverter",
                "value": "2.3.8",
                "line": 20,
                "verdict": "under",
            },
            {**quay, "what": "grid-code", "place": "inverter", "value": "A", "line": 51, "verdict": "pass"},
        ],
        "steps": [
            {**quay, "step": "delivery", "line": 11, "time": "08:10", "verdict": "pass"},
            {
                **quay,
                "step": "stack-A",
                "line": 15,
                "time": "08:50",
                "after": "bracket",
                "verdict": "out-of-order",
            },
            {
                **quay,
                "step": "fault-lamp",
                "line": 42,
                "time": "10:14",
                "waited": "45 s",
                "wanted": "60 s",
                "after": "breaker-on",
                "verdict": "too-soon",
            },
            {**quay, "step": "breaker-off", "verdict": "missing", "day": None},
            {**quay, "step": "lamp-check", "line": 43, "verdict": "not-tested"},
            {**_BARN, "step": "cover-open", "verdict": "missing"},
        ],
        "defects": [
            {
                **quay,
                "defect": "D1",
                "severity": "minor",
                "about": "cover scratched",
                "opened": "2026-03-02",
                "cleared": "2026-03-02",
                "age": 0,
                "line": 44,
                "more": "minor cleared",
            },
            {
                **_BARN,
                "defect": "D2",
                "severity": "danger",
                "place": "module-A",
                "about": "smell of burning",
                "opened": "2026-03-01",
                "age": 19,
                "line": 9,
                "more": "danger open",
            },
            {
                **_QUAY_15,
                "defect": "D3",
                "severity": "major",
                "about": "lid bent",
                "opened": "2026-02-10",
                "age": 38,
                "line": 18,
                "more": "major open",
            },
            {
                **_QUAY_15,
                "defect": "D4",
                "severity": "minor",
                "about": "label",
                "opened": "2026-03-10",
                "age": 10,
                "line": 19,
                "more": "minor open",
            },
        ],
        "tools": [
            {
                "tool": "TW3",
                "kit": "van-2",
                "kind": "torque-wrench",
                "range": "4..20 Nm",
                "calibrated": "2026-01-15",
                "due": "2027-01-15",
                "uses": 8,
                "cert": "K-2291",
                "file": "van-2.kit",
                "line": 3,
            },
            {
                "tool": "TW5",
                "kit": "van-2",
                "kind": "torque-wrench",
                "range": "4..20 Nm",
                "calibrated": "2025-02-15",
                "due": "2026-02-15",
                "uses": 3,
                "cert": "K-2292",
                "file": "van-2.kit",
                "line": 4,
                "more": "out-of-calibration due",
            },
            {
                "tool": "MF1",
                "kit": "van-2",
                "kind": "insulation",
                "range": "0..999 MΩ",
                "calibrated": "2025-04-10",
                "due": "2026-04-10",
                "uses": 7,
                "cert": "K-1980",
                "file": "van-2.kit",
                "line": 5,
            },
        ],
        "entries": [
            {
                **quay,
                "kind": "torque",
                "time": "09:20",
                "line": 19,
                "entry": "09:20 torque bracket-1..4 12.1 12.0 11.9 12.0 Nm",
                "remark": None,
                "more": "signed",
            },
            {
                **quay,
                "kind": "loosed",
                "time": "11:10",
                "line": 60,
                "entry": "11:10 loosed bracket-3..4 -- plug sat Loose",
                "remark": "plug sat Loose",
                "more": "unsigned",
            },
            {
                **quay,
                "kind": "reading",
                "time": "09:51",
                "line": 29,
                "entry": "09:51 reading continuity frame/earth 0.08 ohm",
                "by": "jp",
                "more": "struck signed",
            },
        ],
        "sites": [
            {
                **quay,
                "sheets": "wallstack-3",
                "joints": 8,
                "joints_under": 1,
                "readings": 8,
                "readings_failing": 0,
                "missing": 2,
                "defects_open": 0,
                "errors": 2,
                "warnings": 1,
                "ready": 0,
                "last_signed": "2026-03-02",
                "more": "unsigned",
            },
            {
                **_QUAY_15,
                "day": "2026-03-19",
                "sheets": "wallstack-3",
                "joints": 2,
                "joints_under": 0,
                "readings": 2,
                "readings_failing": 0,
                "missing": 0,
                "defects_open": 2,
                "errors": 0,
                "warnings": 0,
                "ready": 1,
                "more": "unsigned",
            },
            {
                **_BARN,
                "day": "2026-03-01",
                "sheets": "wallstack-2",
                "joints": 1,
                "joints_under": 0,
                "readings": 1,
                "readings_failing": 1,
                "missing": 2,
                "defects_open": 1,
                "errors": 1,
                "warnings": 0,
                "ready": 0,
                "more": "away signed",
            },
        ],
    }


def stored_rows() -> dict[str, list[tuple[object, ...]]]:
    """All rows by subject, as a store takes them."""
    some = {"joints": _joints(), "torques": _torques(), "readings": _readings(), **_others()}
    return {
        name: [row(SUBJECTS[name], **_fitting(SUBJECTS[name], one)) for one in rows]
        for name, rows in some.items()
    }


def _fitting(subject: Subject, cells: dict[str, object]) -> dict[str, object]:
    """The cells without the common ones that the subject lacks: what holds for a site is said once."""
    lacking = {column.name for column in COMMON} - {column.name for column in subject.common}
    return {name: cell for name, cell in cells.items() if name not in lacking}

"""A small fleet on the disk, and two ways to its rows: read as it stands, and kept in an index."""

from __future__ import annotations

import time
from datetime import date
from pathlib import Path

from sitelog.asking.store import Store
from sitelog.asking.store.keeping import NAMED
from sitelog.asking.subjects import HISTORIES, SUBJECTS
from sitelog.fleet.index import Index, IndexRequest, open_index
from sitelog.fleet.workspace import load, rows

TODAY = date(2026, 3, 20)
TABLES = [one.stored for one in (*SUBJECTS.values(), *HISTORIES.values())]

SHEET = """\
sheet   tallstack-3 revision B  "Tall stack"
source  "guide for tallstack-3, revision B"
part    module-A..B   serial like "NK####-#####"
hole    anchor-1..2   12 mm +0.5/-0 x 60 mm +10/-0
joint   bracket-1..3  M8 class 8.8   12 Nm +-10 %   every 12 months
look    wall-sound
reading insulation  dc-pos/earth   >= 1 Mohm at 500 V
step    delivery
photo   label-board
"""

KIT = """\
kit    van-7
tool   TW3  torque-wrench   4..20 Nm   +-4 %   serial 30119
tool   MF1  insulation  0..999 Mohm +-3 %   serial 30120
calibrated TW3  2026-01-15  due 2027-01-15  cert C-118  found 11.9 Nm at 12 Nm  U 0.8 %
calibrated MF1  2025-03-25  due 2026-03-25  cert C-120
"""

LOG = """\
site   {name}  "North wall"
sheet  tallstack-3
kit    van-7
crew   mo  lead
visit  install
day 2026-03-02  11 degC, dry
08:05  use     MF1, TW3
08:10  did     delivery
08:14  serial  module-A..B   NK2607-{serial:05} NK2607-{next:05}
08:30  look    wall-sound ok
09:20  torque  bracket-1..3  12.1 12.0 {value} Nm
09:50  reading insulation dc-pos/earth   >999 Mohm at 500 V
"""

MORE = (
    "10:15  defect  D1 minor cover scratched near the hinge",
    "10:16  defect  D2 danger smell of burning",
    "10:20  cleared D1  -- touched up",
    '10:25  photo   "a.jpg" of label-board',
    "10:30  torque  bracket-2  9.8 Nm",
    "10:31  strike  torque bracket-2 9.8 Nm  -- read off the wrong wrench",
    "10:35  swap    module-B NK2607-00002 -> NK2607-00001  -- 2 V low",
    "10:40  away    locked, caps on  -- called out",
    "10:45  sign    mo installed",
    "day 2026-03-19",
    "10:50  tourque bracket-1 12 Nm",
    "10:55  todo    label the breaker",
)


def log(name: str, serial: int = 1, value: str = "11.9") -> str:
    """The text of a log."""
    return LOG.format(name=name, serial=serial, next=serial + 1, value=value)


def write(folder: Path, sites: int = 3) -> Path:
    """A fleet in a folder: a sheet, a kit, some logs."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "tallstack-3.sheet").write_text(SHEET, encoding="utf-8")
    (folder / "van-7.kit").write_text(KIT, encoding="utf-8")
    for number in range(1, sites + 1):
        (folder / f"quay-{number}.site").write_text(log(f"quay-{number}", 10 * number), encoding="utf-8")
    return folder


def opened(
    folder: Path, cache: Path, today: date = TODAY, *, now: int = 0, processors: int = 1
) -> Index | None:
    """The index of a folder with the histories of all subjects."""
    clock = lambda: now or time.time_ns()  # noqa: E731
    histories = tuple(HISTORIES)
    return open_index(IndexRequest((str(folder),), today, str(cache), clock, histories, processors))


def kept(
    folder: Path, cache: Path, today: date = TODAY, *, now: int = 0, processors: int = 1
) -> dict[str, object]:
    """Everything an index knows."""
    index = opened(folder, cache, today, now=now, processors=processors)
    assert index is not None
    found = {
        **index.use(HISTORIES, _tables),
        "states": index.use(HISTORIES, lambda store: {name: store.states(name) for name in TABLES}),
        "readable": index.readable,
        "errors": index.errors,
        "loud": index.loud,
        "summaries": index.sites,
    }
    index.close()
    return found


def plain(folder: Path, today: date = TODAY) -> dict[str, object]:
    """The same, from the files as they stand."""
    workspace = load([str(folder)], today)
    with Store() as store:
        for name, some in rows(workspace, HISTORIES).items():
            store.add(name, some)
        return {
            **_tables(store),
            "states": {name: _states(store, name) for name in TABLES},
            "readable": bool(workspace.readable),
            "errors": sum(one.severity == "error" for one in workspace.findings),
            "loud": [one for one in workspace.sites if one.headlines],
            "summaries": workspace.sites,
        }


def _tables(store: Store) -> dict[str, object]:
    rows = {name: list(store.select(f'SELECT * FROM "{name}" ORDER BY rowid')) for name in TABLES}
    return {**rows, "names": {column: store.names(column) for column in (*NAMED, "remark")}}


def _states(store: Store, table: str) -> frozenset[str]:
    return frozenset(row[0] for row in store.select(f'SELECT DISTINCT states FROM "{table}"') if row[0])

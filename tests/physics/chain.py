"""The whole chain for one small case: sheet, kit and log as text, verdicts and findings out."""

from datetime import date
from pathlib import Path

from sitelog.fleet.workspace import Workspace, load
from sitelog.judging.results import Result

KIT = """kit van
tool IT1 insulation 0..999 MΩ +-3 %, continuity 0..20 ohm +-2 %, loop 0..2000 ohm +-0.1 %, \
rcd-time 0..1000 ms +-0.1 %, electrode 0..5000 ohm +-0.1 %
tool MM1 voltage 0..1000 V +-0.1 %
tool W1 torque-wrench 1..200 Nm +-4 %
calibrated IT1 2026-01-12 due 2028-01-12 cert C-1
calibrated MM1 2026-01-12 due 2028-01-12 cert C-2
calibrated W1 2026-01-12 due 2028-01-12 cert C-3
"""


def judged(folder: Path, sheet: str, log: str, kit: str = KIT) -> Workspace:
    """What is made of a log of one day (a service visit may follow) by a sheet, with the tools of a kit."""
    (folder / "asks.sheet").write_text(
        f'sheet asks\nsource "guide asks, page 1"\n{sheet}\n', encoding="utf-8"
    )
    (folder / "van.kit").write_text(kit, encoding="utf-8")
    head = "site here\nsheet asks\nkit van\ncrew mo lead\nday 2026-03-02\nuse IT1, MM1, W1\n"
    (folder / "here.site").write_text(f"{head}{log}\n", encoding="utf-8")
    return load([str(folder)], date(2027, 6, 1))


def results(folder: Path, sheet: str, log: str, kit: str = KIT) -> dict[str, Result]:
    """The results by what they are about: `loop q2/earth`, `a/b`."""
    workspace = judged(folder, sheet, log, kit)
    return {f"{one.what} {one.place}".strip(): one for one in workspace.judged[0].results}


def verdicts(folder: Path, sheet: str, log: str, kit: str = KIT) -> dict[str, list[str]]:
    """The verdicts of every reason, worst first; `pass` where there is none."""
    found = results(folder, sheet, log, kit)
    return {name: [reason.verdict for reason in one.reasons] or [one.verdict] for name, one in found.items()}

"""A workspace made by hand, so that the commands are tested for what they print and return alone."""

import sys
from types import ModuleType
from typing import NamedTuple

from sitelog.findings.finding import Finding


class Site(NamedTuple):
    site: str = "hill-9"
    file: str | None = "hill-9.site"
    sheets: tuple[str, ...] = ("twin-5", "house")
    joints: int = 4
    joints_under: int = 1
    readings: int = 3
    readings_failing: int = 0
    defects_open: int = 0
    missing: int = 2
    errors: int = 1
    warnings: int = 0
    ready: bool = False
    headlines: tuple[str, ...] = ()


class Gap(NamedTuple):
    site: str
    stage: str
    text: str
    severity: str = "info"
    caution: str = ""
    file: str = "twin-5.sheet"
    line: int = 4


class Workspace(NamedTuple):
    findings: tuple[Finding, ...] = ()
    sites: tuple[Site, ...] = (Site(),)
    wanted: tuple[Gap, ...] = ()
    readable: int = 1

    def gaps(self) -> list[Gap]:
        return list(self.wanted)

    def waits(self) -> dict[tuple[str, str], tuple[str, ...]]:
        return {}


UNDER = Finding(
    "under-torque",
    "error",
    "foot-2: 5.9 Nm is under 7.2 Nm",
    "tighten it again",
    "hill-9.site",
    7,
    31,
    37,
    "09:05 torque foot-1..2  8 Nm,  5.9 Nm",
)


def pretend(monkeypatch, workspace, calls=None):
    """Let `sitelog.fleet.workspace.load` give this workspace (or raise this exception)."""

    def load(paths, today):
        if calls is not None:
            calls.append((paths, today))
        if isinstance(workspace, BaseException):
            raise workspace
        return workspace

    module = ModuleType("sitelog.fleet.workspace")
    module.load = load
    monkeypatch.setitem(sys.modules, "sitelog.fleet.workspace", module)
    fleet = ModuleType("sitelog.fleet.checking")
    fleet.check = lambda paths, today, processors, said: load(paths, today)
    monkeypatch.setitem(sys.modules, "sitelog.fleet.checking", fleet)

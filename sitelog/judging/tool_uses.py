"""How often each tool was used, over every site that was read."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from sitelog.files.records import Kit
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding, Span
from sitelog.judging.calibration import ISO_6789_USES
from sitelog.judging.judged import Site
from sitelog.judging.tools import instrument_of
from sitelog.language.kinds.kind import row_of

ToolKey = tuple[str, str]
"""The names of a kit and of a tool in it."""

Uses = dict[ToolKey, dict[date, int]]
"""How many values each tool gave on each day."""


def uses(sites: Iterable[Site]) -> Uses:
    """How often each tool gave a value on each day, over all of the sites; what was struck does not count."""
    found: Uses = defaultdict(dict)
    for site in sites:
        for obs in site.observations:
            if obs.value is None or not row_of(obs.kind).measures:
                continue
            tool = instrument_of(obs, site.box).tool
            if tool is not None and obs.moment.day is not None:
                days = found[tool.kit, tool.name]
                days[obs.moment.day] = days.get(obs.moment.day, 0) + 1
    return found


def since_calibration(kit: Kit, name: str, days: Mapping[date, int]) -> int:
    """The uses of a tool since its newest calibration; all of them where it has none."""
    calibrations = kit.calibrations.get(name.casefold(), ())
    return sum(count for day, count in days.items() if not calibrations or day >= calibrations[-1].day)


def no_interval(kit: Kit) -> bool:
    """Whether a kit is silent on until when one of its torque tools is calibrated."""
    return any(
        (calibrations := kit.calibrations.get(key)) is not None
        and calibrations[-1].due is None
        and any(measure.kind == "torque" for measure in tool.measures)
        for key, tool in kit.tools.items()
    )


def worn_out(kits: Iterable[Kit], used: Mapping[ToolKey, Mapping[date, int]]) -> list[Finding]:
    """Torque tools past 5000 uses since their calibration, where the kit gives no interval of its own.

    Source: ISO 6789:2003 (12 months or 5000 operations, whichever is first).
    """
    found: list[Finding] = []
    for kit in kits:
        for key, tool in kit.tools.items():
            calibrations = kit.calibrations.get(key, ())
            if not calibrations or calibrations[-1].due is not None:
                continue
            if not any(measure.kind == "torque" for measure in tool.measures):
                continue
            count = since_calibration(kit, key, used.get((kit.name, tool.name), {}))
            if count > ISO_6789_USES:
                message = (
                    f"{tool.name} gave {count} values since its calibration on {calibrations[-1].day};"
                    f" ISO 6789 asks for the next one after {ISO_6789_USES}"
                )
                help = "have it calibrated, or give it an interval of your own: `due` and the day"
                span = Span(kit.file, tool.line, 1, 5)
                found.append(finding_at(span, "tool-out-of-calibration", message, help))
    return found

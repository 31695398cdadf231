"""The instrument of a value: which tool it was, whether it was in calibration, and how well it measures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import Reason
from sitelog.files.records import Kit
from sitelog.judging.calibration import CalibrationInterval, interval_on
from sitelog.judging.own_display import display_counts, displayed_by
from sitelog.judging.proving import unproved
from sitelog.judging.reliance import NOTHING, Instrument, by_click, in_range, out_of_range, relied_on
from sitelog.judging.site import Observation
from sitelog.language.kinds.base import Record
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.reading import MEASURES, Reading
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.kinds.tool import Calibration, Measure, Tool
from sitelog.language.kinds.torque import Torque
from sitelog.notation.quantities import Quantity

# Tests that only an instrument made for them can do; a resistance or voltage range is not enough
# (IEC 61557 has a part for each).
OWN_INSTRUMENT = frozenset({"insulation", "loop", "rcd-time", "rcd-current", "electrode", "continuity"})
_ALSO = {("continuity", "resistance"), ("continuity", "ohmmeter"), ("earth-electrode", "electrode")}


# The entry without a day is a finding already.
_NO_DAY = Reason("untraceable", "", "without a day no calibration is known to be in force")

Candidates = list[tuple[Tool, Measure]]

_MOST = 10_000
"""Answers that one memory holds; more are forgotten all at once."""


class Toolbox:
    """The tools that the names in a site's logs can mean. It remembers what it was asked, for every site."""

    def __init__(self, kits: Sequence[Kit], in_reach: Iterable[Kit] = (), absent: Sequence[str] = ()) -> None:
        self._all = tuple(kits)
        self._in_reach = tuple(in_reach)
        self._absent = tuple(absent)
        self._intervals: dict[tuple[int, int, date | None], CalibrationInterval] = {}
        self._candidates: dict[tuple[tuple[str, ...], str, str, str], Candidates] = {}
        self._fitting: tuple[Record | None, Candidates, Candidates] = (None, [], [])
        self._measures: dict[tuple[int, str, str, str], Measure | None] = {}
        self._same: dict[tuple[int, int, CalibrationInterval], CalibrationInterval] = {}

    @property
    def kits(self) -> tuple[Kit, ...]:
        """The kits that the log names and that were found. A kit that nobody named serves nobody."""
        return self._all

    def no_kit(self, name: str) -> Reason:
        """Why nothing is known of a tool where no kit that the log names was found."""
        if self._absent:
            message = f"kit `{self._absent[0]}` is not in reach, so nothing is known of `{name}`"
            return Reason("untraceable", "missing-kit", message, "put its file beside the log or above it")
        owners = [kit.name for kit in self._in_reach if name.casefold() in kit.tools]
        if owners:
            message = f"the log names no kit, so nothing says whose `{name}` it was"
            return Reason("untraceable", "no-kit", message, f"name the crew's kit: `kit {owners[0]}`")
        message = f"no kit is named, so nothing is known of `{name}`"
        return Reason("untraceable", "no-kit", message, "name the crew's kit: `kit NAME`")

    def find(self, name: str) -> list[Tool]:
        """Every tool of that name."""
        key = name.casefold()
        return [kit.tools[key] for kit in self._all if key in kit.tools]

    def nearest(self, name: str) -> str:
        """A tool of nearly that name."""
        from difflib import get_close_matches

        known = {key: tool.name for kit in self._all for key, tool in kit.tools.items()}
        close = get_close_matches(name.casefold(), known, 1, 0.5)
        return known[close[0]] if close else ""

    def calibrations(self, tool: Tool) -> tuple[Calibration, ...]:
        """The calibrations of a tool, in order of their day."""
        kit = next(
            (kit for kit in self._all if kit.name == tool.kit and tool.name.casefold() in kit.tools), None
        )
        return kit.calibrations.get(tool.name.casefold(), ()) if kit is not None else ()

    def interval(self, tool: Tool, measure: Measure, day: date | None) -> CalibrationInterval:
        """What can be said of a tool of this box on a day."""
        key = id(tool), id(measure), day
        found = self._intervals.get(key)
        if found is None:
            if len(self._intervals) >= _MOST:
                self._intervals.clear()
                self._same.clear()
            found = interval_on(tool, measure, self.calibrations(tool), day)
            # The same object for all days that are alike: `relied_on` is remembered by its identity.
            found = self._intervals[key] = self._same.setdefault((id(tool), id(measure), found), found)
        return found

    def measure(self, tool: Tool, obs: Observation) -> Measure | None:
        """The range of a tool of this box that measures what an observation says."""
        key = (
            id(tool),
            obs.kind,
            obs.what,
            obs.value.kind if obs.value is not None else "",
        )
        if key not in self._measures:
            if len(self._measures) >= _MOST:
                self._measures.clear()
            self._measures[key] = measure_for(tool, sought_by(obs))
        return self._measures[key]

    def candidates(self, obs: Observation) -> Candidates:
        """The tools in use that measure what an observation says, those made for it before all others."""
        kind = obs.value.kind if obs.value is not None else ""
        key = obs.in_use, obs.kind, obs.what, kind
        found = self._candidates.get(key)
        if found is None:
            tools = [tool for name in obs.in_use for tool in self.find(name)]
            sought = sought_by(obs)
            found = made_for(measuring(tools, sought), sought)
            if len(self._candidates) >= _MOST:
                self._candidates.clear()
            self._candidates[key] = found
        return found

    def fitting(self, obs: Observation, candidates: Candidates) -> Candidates:
        """The candidates whose range holds every value of the entry; without `with` no other can be meant."""
        record, of, found = self._fitting
        if record is not obs.record or of is not candidates:  # one answer for every place of an entry
            found = [
                candidate
                for candidate in candidates
                if all(in_range(candidate[1], q, obs.kind) for q in _values(obs))
            ]
            self._fitting = obs.record, candidates, found
        return found


# ---- which tool --------------------------------------------------------------------------------------
class Sought(NamedTuple):
    """What a tool has to measure: the kind of entry, what is read, and the kind of its quantity or `""`."""

    kind: str
    what: str
    quantity: str


def sought_by(obs: Observation) -> Sought:
    """What the tool of an observation has to measure."""
    return Sought(obs.kind, obs.what.casefold(), obs.value.kind if obs.value is not None else "")


def measure_for(tool: Tool, sought: Sought) -> Measure | None:
    """The range of a tool that measures what is sought; None where it does not measure that."""
    if row_of(sought.kind).measures == "torque":
        return next(
            (measure for measure in tool.measures if measure.kind == "torque" or "torque" in measure.name),
            None,
        )
    measures = row_of(sought.kind).measures
    what = sought.what if measures == "by name" else measures
    named = [measure for measure in tool.measures if measure.name == what] or [
        measure for measure in tool.measures if (what, measure.name) in _ALSO
    ]
    for measure in named:
        if not measure.kind or not sought.quantity or measure.kind == sought.quantity:
            return measure
    if what in OWN_INSTRUMENT:
        return None
    for measure in tool.measures:
        if measure.kind and measure.kind == sought.quantity and measure.name not in OWN_INSTRUMENT:
            return measure
    return None


def measuring(tools: Iterable[Tool], sought: Sought) -> Candidates:
    """The tools that measure what is sought, each with the range that does."""
    measures = ((tool, measure_for(tool, sought)) for tool in tools)
    return [(tool, measure) for tool, measure in measures if measure is not None]


def made_for(candidates: Candidates, sought: Sought) -> Candidates:
    """Those of the candidates that are made for what is sought; all of them where none is."""
    found = [candidate for candidate in candidates if candidate[1].name == sought.what] or candidates
    if row_of(sought.kind).symmetric:
        found = [candidate for candidate in found if candidate[0].proved_on] or found
    return found


def tools_for(tools: Iterable[Tool], requirement: Requirement) -> list[Tool]:
    """The tools that can serve a requirement: that measure what it asks, over all of its limits.

    The judge relies on the same tools. Empty for what no tool measures, such as a hole or a look.
    """
    row = row_of(requirement.kind)
    if not row.measures:
        return []
    limits, what = requirement.limits, requirement.what.casefold()
    quantity = limits.kind or next(iter(MEASURES.get(what, ())), "")
    measured = "" if row.measures == "by name" else row.measures
    sought = Sought(requirement.kind, what, quantity or measured)
    ends = [end for end in (limits.low, limits.high, limits.target) if end is not None]
    if not row.limits_are_values:  # their limit is a difference, or what is as good as nothing
        ends = []
    fitting = [
        (tool, measure)
        for tool, measure in measuring(tools, sought)
        if all(in_range(measure, end, requirement.kind) for end in ends)
    ]
    return [tool for tool, _ in made_for(fitting, sought)]


def _values(obs: Observation) -> list[Quantity]:
    record = obs.record
    if isinstance(record, (Torque, Reading)):
        return [value.quantity for value in record.values if value.quantity is not None]
    return [obs.value] if obs.value is not None else []


def instrument_of(obs: Observation, box: Toolbox, requirement: Requirement | None = None) -> Instrument:
    """The instrument of an observation, with every reason why it cannot be relied on for the value.

    Evidence needed: a tool of a kit that the log names, in calibration on the day, that measures this and
    whose range holds the value. Without `with` it is the one tool in use whose range holds every value of the
    entry. The equipment's own display stands for it only where `display_counts` says so.
    """
    if display_counts(obs, requirement):
        return NOTHING
    named = obs.record.head.tool
    if named:
        return _named(obs, named, box)
    if source := displayed_by(obs):
        message = f"`from {source}` is no instrument for {_measured_by(obs)}"
        help = "measure it and add `with` and the tool's name"
        return Instrument(reasons=(Reason("untraceable", "no-tool", message, help),))
    if obs.in_use and not box.kits:
        return Instrument(reasons=(box.no_kit(obs.in_use[0]),))
    candidates = box.candidates(obs)
    if candidates:
        fitting = box.fitting(obs, candidates)
        if not fitting and len(candidates) == 1:
            tool, measure = candidates[0]
            kind = "dead" if row_of(obs.kind).symmetric else ""
            outside = next(filter(None, (out_of_range(tool, measure, q, kind) for q in _values(obs))), ())
            return Instrument(reasons=outside)
        if len(fitting) != 1:
            names = ", ".join(tool.name for tool, _ in candidates)
            which = "each could have been it" if fitting else "and the values are in the range of none"
            reason = Reason(
                "untraceable",
                "which-tool",
                f"which tool? {names} are in use, {which}",
                "add `with` and its name",
            )
            return Instrument(reasons=(reason,))
        candidates = fitting
    if not candidates:
        return Instrument(reasons=(_no_tool(obs),))
    return _judged(obs, *candidates[0], box)


def _no_tool(obs: Observation) -> Reason:
    about = _measured_by(obs)
    if obs.in_use:
        message = f"none of the tools in use ({', '.join(obs.in_use)}) measures {about}"
    else:
        message = f"no tool is named for this {about}"
    return Reason("untraceable", "no-tool", message, "add `with` and the tool's name, or a `use` line above")


def _measured_by(obs: Observation) -> str:
    """What a tool measures of an observation, in words."""
    measures = row_of(obs.kind).measures
    return obs.what if measures == "by name" else measures


def _named(obs: Observation, name: str, box: Toolbox) -> Instrument:
    found = box.find(name)
    if not found:
        if not box.kits:
            reason = box.no_kit(name)
        else:
            near = box.nearest(name)
            kits = ", ".join(kit.name for kit in box.kits)
            reason = Reason(
                "untraceable",
                "unknown-tool",
                f"no tool `{name}` in {kits}",
                f"did you mean `{near}`?" if near else "",
            )
        return Instrument(name=name, reasons=(reason,))
    if len(found) > 1:
        kits = " and ".join(tool.kit for tool in found)
        reason = Reason("untraceable", "which-tool", f"`{name}` is in {kits}", "name one kit: `kit NAME`")
        return Instrument(name=name, reasons=(reason,))
    tool = found[0]
    measure = box.measure(tool, obs)
    if measure is None:
        about = _measured_by(obs)
        reason = Reason(
            "untraceable", "wrong-tool", f"{tool.name} is a {tool.kind} and does not measure {about}"
        )
        return Instrument(tool, tool.name, reasons=(reason,))
    return _judged(obs, tool, measure, box)


# ---- whether it can be relied on ----------------------------------------------------------------------
def _judged(obs: Observation, tool: Tool, measure: Measure, box: Toolbox) -> Instrument:
    is_dead = row_of(obs.kind).symmetric
    if is_dead and tool.proved_on:
        reasons = (*out_of_range(tool, measure, obs.value, "dead"), *unproved(obs, tool, box))
        return Instrument(tool, tool.name, reasons=reasons)
    interval = box.interval(tool, measure, obs.moment.day)
    found = relied_on(tool, measure, obs.value, interval, "dead" if is_dead else "")
    more = list(unproved(obs, tool, box) if is_dead else by_click(obs, tool))
    if obs.moment.day is None:
        more.append(_NO_DAY)
    return found._replace(reasons=(*found.reasons, *more)) if more else found

"""The instrument of a value: which tool it was, whether it was in calibration, and how well it measures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.base.memory import remembered
from sitelog.base.verdicts import Reason
from sitelog.files.records import Kit
from sitelog.judging.calibration import CalibrationInterval, interval_on
from sitelog.judging.site import Observation
from sitelog.language.kinds.base import Record
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.reading import MEASURES, Reading
from sitelog.language.kinds.requirement import Requirement
from sitelog.language.kinds.tool import Calibration, Measure, Tool
from sitelog.language.kinds.torque import Torque
from sitelog.notation.quantities import Quantity, format_quantity
from sitelog.physics.uncertainty import standard_uncertainty

# Tests that only an instrument made for them can do; a resistance or voltage range is not enough
# (IEC 61557 has a part for each).
OWN_INSTRUMENT = frozenset({"insulation", "loop", "rcd-time", "rcd-current", "electrode", "continuity"})
_ALSO = {("continuity", "resistance"), ("continuity", "ohmmeter"), ("earth-electrode", "electrode")}


class Instrument(NamedTuple):
    """The instrument of one value. `u` is its standard uncertainty in base units; None where unknown."""

    tool: Tool | None = None
    name: str = ""
    calibration: Calibration | None = None
    due: date | None = None
    u: float | None = None
    reasons: tuple[Reason, ...] = ()
    by_default: str = ""  # what a standard gave where the kit is silent

    @property
    def cert(self) -> str:
        """The certificate of the calibration in force."""
        return self.calibration.cert if self.calibration is not None else ""


NOTHING = Instrument()

_new = tuple.__new__  # three times as fast as calling a NamedTuple


# The entry without a day is a finding already.
_NO_DAY = Reason("untraceable", "", "without a day no calibration is known to be in force")

Candidates = list[tuple[Tool, Measure]]

_MOST = 10_000
"""Answers that one memory holds; more are forgotten all at once."""


class Toolbox:
    """The tools that the names in a site's logs can mean. It remembers what it was asked, for every site."""

    def __init__(self, kits: Sequence[Kit], in_reach: Iterable[Kit] = ()) -> None:
        self._kits = tuple(kits)
        self._all = self._kits or tuple(in_reach)
        self._intervals: dict[tuple[int, int, date | None], CalibrationInterval] = {}
        self._candidates: dict[tuple[tuple[str, ...], str, str, str], Candidates] = {}
        self._fitting: tuple[Record | None, Candidates, Candidates] = (None, [], [])
        self._measures: dict[tuple[int, str, str, str], Measure | None] = {}
        self._same: dict[tuple[int, int, CalibrationInterval], CalibrationInterval] = {}

    @property
    def kits(self) -> tuple[Kit, ...]:
        """The kits named, or all in reach where none is."""
        return self._all

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
            # The same object for all days that are alike: `_relied_on` is remembered by its identity.
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
        """The candidates whose range holds every value of the entry, or else all but one of many."""
        record, of, found = self._fitting
        if record is not obs.record or of is not candidates:  # one answer for every place of an entry
            found = [
                candidate
                for candidate in candidates
                if all(_in_range(candidate[1], q, obs.kind) for q in _values(obs))
            ]
            found = found or _all_but_one(candidates, obs)
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
    for measure in tool.measures:
        if measure.name == what or (what, measure.name) in _ALSO:
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
        if all(_in_range(measure, end, requirement.kind) for end in ends)
    ]
    return [tool for tool, _ in made_for(fitting, sought)]


def _in_range(measure: Measure, q: Quantity | None, kind: str) -> bool:
    if q is None or measure.low is None or measure.high is None or measure.kind != q.kind:
        return True
    below_counts = not row_of(kind).symmetric and q.bound != "<"
    return (q.base >= measure.low.base or not below_counts) and q.base <= measure.high.base


def _values(obs: Observation) -> list[Quantity]:
    record = obs.record
    if isinstance(record, (Torque, Reading)):
        return [value.quantity for value in record.values if value.quantity is not None]
    return [obs.value] if obs.value is not None else []


def instrument_of(obs: Observation, box: Toolbox) -> Instrument:
    """The instrument of an observation, with every reason why it cannot be relied on for the value."""
    named = obs.record.head.tool
    if named:
        return _named(obs, named, box)
    candidates = box.candidates(obs)
    if len(candidates) > 1:
        fitting = box.fitting(obs, candidates)
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


def _all_but_one(candidates: Sequence[tuple[Tool, Measure]], obs: Observation) -> list[tuple[Tool, Measure]]:
    """The tools whose range holds every value of a list of three or more but one, the slip of the pen.

    Of two values neither can be told to be the slip.
    """
    values = _values(obs)
    if len(values) < 3:
        return []
    return [
        (tool, measure)
        for tool, measure in candidates
        if sum(_in_range(measure, q, obs.kind) for q in values) == len(values) - 1
    ]


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
            reason = Reason(
                "untraceable",
                "no-kit",
                f"no kit is in reach, so nothing is known of `{name}`",
                "name the crew's kit: `kit NAME`",
            )
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
    if row_of(obs.kind).symmetric and tool.proved_on:
        reasons = (*_out_of_range(tool, measure, obs.value, "dead"), *_proved(obs, tool, box))
        return Instrument(tool, tool.name, reasons=reasons)
    kind = "dead" if row_of(obs.kind).symmetric else ""
    found = _relied_on(tool, measure, obs.value, box.interval(tool, measure, obs.moment.day), kind)
    return found if obs.moment.day is not None else found._replace(reasons=(*found.reasons, _NO_DAY))


@remembered(_MOST)
def _relied_on(
    tool: Tool, measure: Measure, value: Quantity | None, interval: CalibrationInterval, kind: str
) -> Instrument:
    """How far a tool can be relied on for a value. A fleet has few different values, so it is remembered."""
    u: float | None = None
    if interval.share is not None and value is not None and not value.bound:
        size = abs(float(value.base))
        expanded = interval.calibration.uncertainty * size if interval.calibration is not None else 0.0
        u = standard_uncertainty(interval.share * size + (interval.fixed or 0.0), expanded)
    reasons = _out_of_range(tool, measure, value, kind)
    every = (*reasons, *interval.reasons) if reasons else interval.reasons
    return _new(
        Instrument, (tool, tool.name, interval.calibration, interval.due, u, every, interval.by_default)
    )


def _out_of_range(tool: Tool, measure: Measure, value: Quantity | None, kind: str) -> tuple[Reason, ...]:
    if value is None or measure.low is None or measure.high is None or _in_range(measure, value, kind):
        return ()
    above = value.base > measure.high.base
    end = format_quantity(measure.high if above else measure.low)
    edge = f"{tool.name} {'ends' if above else 'begins'} at {end}"
    message = f"{edge}, so {format_quantity(value)} is not proven by it"
    help = "measure again with a tool of the right range"
    return (Reason("untraceable", "tool-out-of-range", message, help),)


def _proved(obs: Observation, tool: Tool, box: Toolbox) -> list[Reason]:
    record = obs.record
    unit, before, after = record.proved if isinstance(record, Reading) else ("", False, False)
    if not before or not after:
        lacking = "before and after" if not before and not after else "after" if before else "before"
        message = f"{tool.name} was not proved {lacking} the test, so dead is not shown"
        help = f"prove it on {tool.proved_on} and write `proved on {tool.proved_on} before, after`"
        return [Reason("untraceable", "not-proved", message, help)]
    if unit and not box.find(unit):
        return [Reason("untraceable", "unknown-tool", f"no proving unit `{unit}` in the kit")]
    return []

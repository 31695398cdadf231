"""Joints of the whole fleet, by sheet and by tool: each value as a share of what its limits allow."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from statistics import median

from sitelog.base.frozen import NamedTuple
from sitelog.report.overview.asking import Ask

# Equal values are counted together, so that a hundred thousand joints are some hundred rows.
QUESTION = (
    "count joints where low is not none and high is not none per sheet, kit, tool, verdict, value, low, high"
)
_NOT_TIGHT = frozenset({"pre-only", "reopened"})  # their values are none that a joint was left with


class Shares(NamedTuple):
    """The joints of one sheet or of one tool: 0 % is the lower limit, 100 % the upper."""

    name: str
    values: tuple[float, ...]
    under: int
    over: int

    @property
    def middle(self) -> float:
        """Half of the values lie below it."""
        return median(self.values)


class TorqueSpread(NamedTuple):
    """The joints with a value and two limits, by sheet and by tool; those with most outside first."""

    by_sheet: list[Shares]
    by_tool: list[Shares]


def spread(ask: Ask) -> TorqueSpread:
    """How the joints lie within their limits."""
    sheets: dict[str, dict[float, int]] = defaultdict(lambda: defaultdict(int))
    tools: dict[str, dict[float, int]] = defaultdict(lambda: defaultdict(int))
    for row in ask(QUESTION):
        value, low, high = row["value"], row["low"], row["high"]
        if value is None or value.bound or high.base <= low.base or row["verdict"] in _NOT_TIGHT:
            continue
        share = float((value.base - low.base) / (high.base - low.base) * 100)
        sheets[row["sheet"] or "no sheet"][share] += row["count"]
        if row["tool"]:
            tools[tool_name(row["tool"], row["kit"])][share] += row["count"]
    return TorqueSpread(_in_order(sheets), _in_order(tools))


def tool_name(tool: str, kit: str | None) -> str:
    """A tool by its name and its kit's: two kits may each have a W2."""
    return f"{tool} ({kit})" if kit else tool


def _in_order(groups: Mapping[str, Mapping[float, int]]) -> list[Shares]:
    found = [_shares(name, counts) for name, counts in groups.items()]
    return sorted(found, key=lambda one: (-one.under - one.over, -len(one.values), one.name))


def _shares(name: str, counts: Mapping[float, int]) -> Shares:
    values = tuple(share for share in sorted(counts) for _ in range(counts[share]))
    return Shares(name, values, sum(one < 0 for one in values), sum(one > 100 for one in values))

"""A test for dead counts only with a tester that was proved before it and after it."""

from __future__ import annotations

from sitelog.base.verdicts import Reason
from sitelog.judging.site import Observation
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.tool import Tool

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sitelog.judging.tools import Toolbox


def unproved(obs: Observation, tool: Tool, box: Toolbox) -> list[Reason]:
    """Why dead is not shown by a tester or meter.

    Evidence needed: `proved on` a proving unit of the kit, before this test and after it, by whatever tool
    the test is made with: the proof is of the test, not of the tool's kind.
    """
    record = obs.record
    unit, before, after = record.proved if isinstance(record, Reading) else ("", False, False)
    on = tool.proved_on or "a proving unit"
    if not before or not after:
        lacking = "before and after" if not before and not after else "after" if before else "before"
        message = f"{tool.name} was not proved {lacking} the test, so dead is not shown"
        help = f"prove it on {on} and write `proved on {tool.proved_on or 'PU1'} before, after`"
        return [Reason("untraceable", "not-proved", message, help)]
    unit = unit or tool.proved_on
    if not unit:
        message = f"nothing says on what {tool.name} was proved, so dead is not shown"
        return [Reason("untraceable", "not-proved", message, "write `proved on` and the unit's name")]
    found = box.find(unit)
    if not found:
        return [Reason("untraceable", "unknown-tool", f"no proving unit `{unit}` in the kit")]
    if not any(_proves(other) for other in found):
        message = f"{tool.name} was proved on {unit}, a {found[0].kind}, which proves no tester"
        return [
            Reason("untraceable", "not-proved", message, f"prove it on {on}, a `proving-unit` of the kit")
        ]
    return []


def _proves(tool: Tool) -> bool:
    return "proving" in tool.kind or tool.kind.endswith("source")

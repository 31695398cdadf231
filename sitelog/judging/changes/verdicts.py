"""Verdicts that are others now, and what made them so."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from sitelog.base.verdicts import VERDICTS
from sitelog.files.meaning import essence
from sitelog.judging.changes.shapes import Flip
from sitelog.judging.defects import Nonconformity
from sitelog.judging.judged import Site
from sitelog.judging.results import Result
from sitelog.judging.site import Observation
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Requirement
from sitelog.notation.quantities import Quantity, format_quantity

_Key = tuple[str, ...]
_ABOUT = 6  # parts of a key before the sheet that asks


def verdicts(before: Site, after: Site) -> tuple[list[Flip], dict[str, tuple[int, int]]]:
    """Verdicts that are others now; and for each sheet, kit or file that judged anew, results and flips."""
    flips: list[Flip] = []
    judged_anew: dict[str, tuple[int, int]] = {}
    for old, new in _paired(_by_key(before), _by_key(after)):
        flipped = _verdict(old) != _verdict(new)
        because = _because(before, after, old, new)
        for key in because:
            if flipped or (new is not None and new.observation is not None):
                results, others = judged_anew.get(key, (0, 0))
                judged_anew[key] = results + 1, others + flipped
        # What no sheet asks has no verdict to lose or to win; that it was written shows among the entries.
        if flipped and not ((old is None or new is None) and "no-limit" in (_verdict(old), _verdict(new))):
            flips.append(flip(old, new, because))
    flips += _defects(before, after)
    return worst_first(flips), judged_anew


def _verdict(result: Result | None) -> str:
    return result.verdict if result is not None else ""


def _by_key(site: Site) -> dict[_Key, Result]:
    """Every result under what it is about: the visit, the thing, the place, and the sheet that asks."""
    found: dict[_Key, Result] = {}
    purposes: dict[str, list[int]] = defaultdict(list)
    for visit in site.log.visits:
        purposes[visit.purpose].append(visit.index)
    for result in site.results:
        purpose = site.log.visits[result.visit].purpose
        nth = str(purposes[purpose].index(result.visit))
        requirement, obs = result.requirement, result.observation
        condition = obs.condition_key if obs is not None else ""
        if requirement is not None:
            condition = requirement.key[3]
        about = (result.kind, result.what.casefold(), result.place.casefold(), condition)
        key: _Key = (purpose, nth, *about, requirement.sheet.casefold() if requirement is not None else "")
        while key in found:
            key = (*key, "+")
        found[key] = result
    return found


def _paired(
    before: Mapping[_Key, Result], after: Mapping[_Key, Result]
) -> Iterator[tuple[Result | None, Result | None]]:
    """The two results about each thing, also where another sheet asks it now."""
    left: dict[_Key, list[_Key]] = defaultdict(list)
    for key in before:
        if key not in after:
            left[key[:_ABOUT]].append(key)
    taken: set[_Key] = set()
    for key, new in after.items():
        old_key = key
        if key not in before and left[key[:_ABOUT]]:
            old_key = left[key[:_ABOUT]].pop(0)
            taken.add(old_key)
        yield before.get(old_key), new
    for key, old in before.items():
        if key not in after and key not in taken:
            yield old, None


def _because(before: Site, after: Site, old: Result | None, new: Result | None) -> tuple[str, ...]:
    """The sheet, the kit or the file that made a result another, where what was written is still the same."""
    if old is None or new is None:
        requirement = (new or old).requirement  # type: ignore[union-attr]
        sheets = {sheet.name.casefold() for sheet in before.log.sheets}
        sheets &= {sheet.name.casefold() for sheet in after.log.sheets}
        if requirement is None or requirement.sheet.casefold() not in sheets:
            return ()
        return (f"sheet {requirement.sheet}",)
    if not _says_the_same(old.observation, new.observation):
        return ()
    found: list[str] = []
    requirement = new.requirement or old.requirement
    if requirement is not None:
        guards = [site.case.guards.get(requirement.sheet) for site in (before, after)]
        if not _asks_the_same(old.requirement, new.requirement) or guards[0] != guards[1]:
            found.append(f"sheet {requirement.sheet}")
    if _instrument(old) != _instrument(new):
        tools = [result.instrument.tool for result in (new, old)]
        kits = [tool.kit for tool in tools if tool is not None]
        found += [f"kit {kit}" for kit in kits[:1] or [kit.name for kit in after.log.kits][:1]]
    if (
        row_of(new.kind).judged == "trial"
        and new.observation is not None
        and not found
        and old.reasons != new.reasons
    ):
        found.append(f"file {new.observation.word}")
    return tuple(found)


def _says_the_same(old: Observation | None, new: Observation | None) -> bool:
    """Whether two observations have the same value, answer and conditions, and the same circumstances."""
    if old is None or new is None:
        return old is new
    circumstances = [
        (obs.mode, obs.word, obs.moment.day, obs.moment.clock, obs.by, obs.record.head.tool)
        for obs in (old, new)
    ]
    values = [(obs.value, obs.second, obs.conditions) for obs in (old, new)]
    # Most are equal to the letter; only the others are worth the look past spellings.
    if circumstances[0] != circumstances[1]:
        return False
    return values[0] == values[1] or essence(values[0]) == essence(values[1])


def _asks_the_same(old: Requirement | None, new: Requirement | None) -> bool:
    if old is None or new is None:
        return old is new
    old, new = (requirement._replace(file="", line=0, text="") for requirement in (old, new))
    return old == new or essence(old) == essence(new)


def _instrument(result: Result) -> object:
    """All that counts of the instrument of a result, for comparison."""
    used = result.instrument
    reasons = tuple((reason.verdict, reason.slug) for reason in used.reasons)
    return used.name.casefold(), used.cert, used.due, used.u, used.by_default, reasons


def flip(old: Result | None, new: Result | None, because: tuple[str, ...]) -> Flip:
    """The change from one result to another about the same thing; one of them may be None.

    `because` names the sheets, kits and files that made it so.
    """
    shown = new or old
    assert shown is not None
    stands = shown.observation or shown.near
    if stands is not None:
        file, line = stands.file, stands.line
    else:
        file, line = (
            (shown.requirement.file, shown.requirement.line) if shown.requirement is not None else ("", 0)
        )
    what = " ".join(filter(None, (shown.kind if shown.kind != shown.what else "", shown.what)))
    if shown.requirement is not None and shown.requirement.condition is not None:
        what += f" at {shown.requirement.at}"
    reason = new.reasons[0].message.removeprefix("missing: ") if new is not None and new.reasons else ""
    return Flip(
        what,
        shown.place,
        _verdict(old),
        _verdict(new),
        _value(old),
        _value(new),
        old.limits.text if old is not None else "",
        new.limits.text if new is not None else "",
        reason,
        because,
        file,
        line,
    )


def _value(result: Result | None) -> str:
    """The value a result rests on, as text; empty where there is none."""
    if result is None:
        return ""
    obs = result.observation
    values: list[Quantity | None] = [result.value]
    if result.value is None and obs is not None:
        values = [obs.value, obs.second]
    text = " x ".join(format_quantity(value) for value in values if value is not None)
    return text or (obs.word if obs is not None else "")


def _defects(before: Site, after: Site) -> Iterator[Flip]:
    """Defects that were found, cleared or graded anew."""
    old = {defect.name.casefold(): defect for defect in before.nonconformities}
    new = {defect.name.casefold(): defect for defect in after.nonconformities}
    for name in dict.fromkeys((*old, *new)):
        was, now = old.get(name), new.get(name)
        then, today = (_state(defect) for defect in (was, now))
        if then == today and (was is None or now is None or was.grade == now.grade):
            continue
        defect = now or was
        assert defect is not None
        at = defect.cleared or defect.since
        yield Flip(
            f"defect {defect.name}",
            defect.place,
            then,
            today,
            was.grade if was is not None else "",
            now.grade if now is not None else "",
            "",
            "",
            now.about if now is not None else "",
            (),
            at.file,
            at.entry.number,
        )


def _state(defect: Nonconformity | None) -> str:
    return "" if defect is None else "open" if defect.open else "cleared"


def worst_first(flips: Iterable[Flip]) -> list[Flip]:
    """Flips with the worst verdict now first, else in the order they have."""
    rank = {verdict: at for at, verdict in enumerate(VERDICTS)}
    return sorted(flips, key=lambda change: rank.get(change.after, len(rank)))

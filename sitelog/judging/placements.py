"""Serials: which sits where, since when, what was there before, where it came from and where it went."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from sitelog.base.frozen import NamedTuple
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.judging.site import Observation, SiteLog
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.part import Registered, Removed, Swap

Places = Callable[[str], str]
"""The one name of a place that several names mean."""


class Placement(NamedTuple):
    """One serial's time at one place; `until` is None while it sits there."""

    place: str
    serial: str
    since: Observation
    until: Observation | None
    previous: str
    moved_to: str
    registered: str
    moved_from: str = ""


SENT_AWAY = "sent-away"
"""The mode of a `removed` that says where a part went which had left its place before."""


def swapped(observations: Sequence[Observation], same_place: Places) -> list[Observation]:
    """The observations, with each entry of a part made what it is by the ones above it.

    A serial that took another's place for a reason is a swap. A `removed` with the serial of a part that had
    left the place before takes nothing out: it says where that part went.
    """
    now: dict[str, str] = {}
    earlier: dict[str, set[str]] = defaultdict(set)  # serials that left, by their place
    found: list[Observation] = []
    for obs in observations:
        if row_of(obs.kind).judged == "serial":
            key, serial = same_place(obs.place), obs.word.casefold()
            if obs.mode == "final" and now.get(key, serial) != serial and obs.record.head.entry.remark:
                obs = obs._replace(mode="swap")
            if obs.mode == "removed" and serial in earlier[key] and now.get(key) != serial:
                obs = obs._replace(mode=SENT_AWAY)
            elif obs.mode == "removed":
                earlier[key].add(now.pop(key, serial))
            else:
                if isinstance(obs.record, Swap):
                    earlier[key].add(obs.record.old.casefold() or now.get(key, ""))
                elif key in now:
                    earlier[key].add(now[key])
                now[key] = serial
                earlier[key].discard(serial)
        found.append(obs)
    return found


def part_changes(
    observations: Sequence[Observation], same_place: Places, is_dismantling: Callable[[Observation], bool]
) -> tuple[dict[str, list[Observation]], dict[str, Observation]]:
    """The swaps and removals of each place, in order; and the removals after which nothing was put back.

    `observations` are as `swapped` gives them. A removal that belongs to taking the site down, as
    `is_dismantling` tells, is a change only where a part was put up there again.
    """
    changes: dict[str, list[Observation]] = defaultdict(list)
    away: dict[str, Observation] = {}
    for obs in observations:
        if row_of(obs.kind).judged != "serial" or obs.mode == SENT_AWAY:
            continue
        key = same_place(obs.place)
        if obs.mode == "removed":
            away[key] = obs
            if not is_dismantling(obs):
                changes[key].append(obs)
            continue
        before = away.pop(key, None)
        if before is not None and is_dismantling(before):
            changes[key].append(before)
        if obs.mode == "swap":
            changes[key].append(obs)
    return changes, away


def placements_of(
    observations: Sequence[Observation], same_place: Places
) -> tuple[list[Placement], list[Finding]]:
    """Every placement on a site, in order, and what cannot be true of it.

    `observations` are those of the site in order; `same_place` gives the one name of a place.
    """
    places = dict.fromkeys([obs.place for obs in observations])
    found: dict[str, list[Placement]] = {same_place(place): [] for place in places}  # in the order of the job
    findings: list[Finding] = []
    for obs in observations:
        if row_of(obs.kind).subject != "parts":
            continue
        key = same_place(obs.place)
        here = found[key][-1] if found[key] and found[key][-1].until is None else None
        if isinstance(obs.record, Registered) and here is not None:
            found[key][-1] = here._replace(registered=obs.record.reference)
        if row_of(obs.kind).judged != "serial":
            continue
        before = here.serial if here is not None else found[key][-1].serial if found[key] else ""
        if obs.mode == SENT_AWAY:
            _say_where_to(found[key], obs)
            continue
        if obs.mode == "removed":
            record = obs.record
            to = record.to if isinstance(record, Removed) else ""
            if here is not None:
                if obs.word and obs.word.casefold() != here.serial.casefold():
                    findings.append(_wrong(obs, f"{obs.place} holds {here.serial}, not {obs.word}"))
                found[key][-1] = here._replace(until=obs, moved_to=to)
            continue
        if here is not None and obs.word.casefold() == here.serial.casefold():
            continue
        if obs.mode == "swap" and isinstance(obs.record, Swap):
            old = obs.record.old
            if old and before and old.casefold() != before.casefold():
                findings.append(_wrong(obs, f"{obs.place} holds {before}, not {old}"))
        elif here is not None:
            message = f"{obs.place} already has {here.serial}, read in line {here.since.line}"
            swap = f"swap {obs.place} {here.serial} -> {obs.word}"
            help = f"a swap? Write `{swap}`; a typing error? Strike one of them"
            wrong = _wrong(obs, message, help)
            # With a reason it says itself that it is a swap.
            findings.append(wrong._replace(severity="warning") if obs.mode == "swap" else wrong)
        if here is not None:
            found[key][-1] = here._replace(until=obs)
        if not before and isinstance(obs.record, Swap):
            before = obs.record.old
        found[key].append(Placement(obs.place, obs.word, obs, None, before, "", ""))
    everything = [placement for placements in found.values() for placement in placements]
    findings += _twice(everything)
    return everything, findings


def _say_where_to(here: list[Placement], obs: Observation) -> None:
    """Put where a part went, said after it had left, to the last time it sat there."""
    to = obs.record.to if isinstance(obs.record, Removed) else ""
    for at in range(len(here) - 1, -1, -1):
        if here[at].until is not None and here[at].serial.casefold() == obs.word.casefold():
            here[at] = here[at]._replace(moved_to=to or here[at].moved_to)
            return


def _twice(everything: Sequence[Placement]) -> list[Finding]:
    by_serial: dict[str, list[Placement]] = defaultdict(list)
    for placement in everything:
        if placement.until is None:
            by_serial[placement.serial.casefold()].append(placement)
    return [
        _wrong(
            second.since,
            f"{second.serial} sits at {first.place} already (line {first.since.line})",
            slug="serial-twice",
        )
        for same in by_serial.values()
        for first, second in pairwise(same)
    ]


def parts_left(log: SiteLog, everything: Sequence[Placement]) -> Iterator[Finding]:
    """Parts that still sit there by the log though the removal is signed."""
    still = [placement for placement in everything if placement.until is None]
    for visit in log.visits:
        if visit.purpose != "removal" or visit.signed is None or not still:
            continue
        entry = visit.signed.head.entry
        names = ", ".join(f"{placement.place} ({placement.serial})" for placement in still[:3])
        more = f" and {len(still) - 3} more" if len(still) > 3 else ""
        message = f"signed as removed, and {names}{more} {'is' if len(still) == 1 else 'are'} still there"
        help = f"write `removed {still[0].place} {still[0].serial} to …`, or sign the visit as a service"
        yield finding_at(entry.span(visit.signed.head.file), "part-left", message, help)


# ---- across sites --------------------------------------------------------------------------------
def placements_across(
    sites: Sequence[tuple[str, Sequence[Placement]]],
) -> list[tuple[list[Placement], list[Finding]]]:
    """The placements of every site with where each part came from and went to, and serials on two sites.

    `sites` are their names and placements; the answer has one pair for each, in the same order.
    """
    found = [list(everything) for _, everything in sites]
    findings: list[list[Finding]] = [[] for _ in sites]
    by_serial: dict[str, list[tuple[tuple[int, ...], int, int]]] = defaultdict(list)
    for at, everything in enumerate(found):
        for which, placement in enumerate(everything):
            day, seconds, sequence = placement.since.moment.order
            by_serial[placement.serial.casefold()].append(((day, seconds, at, sequence), at, which))
    for same in by_serial.values():
        for (_, at, which), (_, then, now) in pairwise(sorted(same)):
            before, after = found[at][which], found[then][now]
            if at != then and not _had_left(before, after):
                findings[then].append(_on_two_sites(sites[at][0], before, sites[then][0], after))
            if before.until is not None:
                here, there = ("", "") if at == then else (f"{sites[at][0]} ", f"{sites[then][0]} ")
                found[at][which] = before._replace(moved_to=before.moved_to or there + after.place)
                found[then][now] = after._replace(moved_from=here + before.place)
    return list(zip(found, findings, strict=True))


def _had_left(before: Placement, after: Placement) -> bool:
    """Whether a part had left one site before it came to another; without a day it had."""
    if before.until is None:
        return False
    left, came = before.until.moment.order[:2], after.since.moment.order[:2]
    return not left[0] or not came[0] or left <= came


def _on_two_sites(site: str, before: Placement, other: str, after: Placement) -> Finding:
    where = f"{before.place} of {site}"
    if before.until is None:
        message = f"{after.serial} sits at {where} already ({before.since.file}:{before.since.line})"
    else:
        until = before.until
        message = f"{after.serial} left {where} later, on {until.moment.day} ({until.file}:{until.line})"
    help = (
        f"read the label again; if it was moved, write `removed {before.place} {before.serial} to {other}`"
        f" in the log of {site}"
    )
    return _wrong(after.since, message, help, "serial-twice")


def _wrong(
    obs: Observation, message: str, help: str = "read the label again", slug: str = "serial-changed"
) -> Finding:
    span = obs.record.head.entry.span(obs.file, obs.start, obs.end)
    return finding_at(span, slug, message, help)

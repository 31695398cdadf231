"""Every time a thing was written, as rows like those of what stands; what was struck has no verdict."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator

from sitelog.asking.rows import paper, work
from sitelog.asking.rows.common import (
    Cells,
    RowTuple,
    day_of,
    in_words,
    of_observation,
    row,
    spellings_of,
    states_of,
    tool_of,
)
from sitelog.asking.subjects import HISTORIES, MAIN_COLUMNS
from sitelog.base.frozen import NamedTuple
from sitelog.judging.evidence import fit
from sitelog.judging.judged import Site
from sitelog.judging.outcomes import result_of
from sitelog.judging.results import Result
from sitelog.judging.site import Observation
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.requirement import Requirement


class _Once(NamedTuple):
    """One thing at one place, as it was written once."""

    observation: Observation
    results: tuple[Result, ...]  # what stands, or what it would be worth; several where several sheets ask it
    stands: bool
    struck: bool


def history_of(site: Site, subject: str) -> list[RowTuple]:
    """The rows of one subject's history, in the order in which they were written."""
    made = _parts(site) if subject == "parts" else _marks(site, subject)
    return [row(HISTORIES[subject].stored, cells) for cells in made]


_Maker = Callable[[Site, Iterable[Result]], Iterator[Cells]]
_OF: dict[str, tuple[tuple[str, ...], _Maker]] = {
    "joints": (("joint",), work.joints),
    "readings": (("reading", "dead"), work.readings),
    "holes": (("hole",), work.holes),
    "looks": (("look",), work.looks),
    "settings": (("set",), work.settings),
    "cables": (("cable",), work.cables),
    "steps": (("step",), work.steps),
    "series": (("series",), work.series),
    "photos": (("photo",), paper.photos),
}


def _marks(site: Site, subject: str) -> Iterator[Cells]:
    kinds, cells_of = _OF[subject]
    last: dict[tuple[str, ...], tuple[object, str | None]] = {}
    for once in _written(site, frozenset(kinds)):
        obs = once.observation
        what = "" if subject == "photos" else obs.what.casefold()  # of a photo it is the file
        key = (obs.kind, what, site.case.names.place(obs.place), obs.condition_key)
        now: object = None
        for cells in cells_of(site, once.results):
            now = cells.get(MAIN_COLUMNS[subject])
            cells["previous"], day = last.get(key, (None, None))
            if "previous_day" in cells:
                cells["previous_day"] = cells["previous_day"] or day
            if once.struck:
                reason = "struck: does not count"
                cells |= {"verdict": None, "reasons": reason}
                cells |= {name: None for name in ("margin", "probability") if name in cells}
                cells["states"] = _states(site, obs, "struck")
            elif obs.live and (obs.id in site.replaced if row_of(obs.kind).replaces else not once.stands):
                cells["states"] = f"{cells['states']}replaced "
            yield cells
        if obs.live and not once.struck and now is not None:
            last[key] = now, day_of(obs)


def _states(site: Site, obs: Observation, *words: str) -> str:
    signed = "signed" if (obs.file, obs.line) in site.signed else "unsigned"
    return f" {' '.join((*words, signed))} "


def _written(site: Site, kinds: frozenset[str]) -> Iterator[_Once]:
    standing: dict[object, list[Result]] = defaultdict(list)
    for result in site.results:
        if result.observation is not None and result.kind in kinds:
            standing[result.observation.id].append(result)
    asked: dict[object, list[Requirement]] = defaultdict(list)
    for one in site.requirements:
        if one.kind in kinds:
            asked[site.case.names.asked(one)].append(one)
    for written in site.log.entries:
        for obs in written.observations:
            if obs.kind not in kinds:
                continue
            results = tuple(standing.get(obs.id, ()))
            if results:
                yield _Once(obs, results, True, False)
                continue
            of_it = asked.get(site.case.names.observation(obs), ())
            fitting = [one for one in of_it if fit(one, obs).answer != "no"]
            once = tuple(result_of(site.case, one, obs) for one in fitting or (None,))
            yield _Once(obs, once, False, obs.id in site.log.struck.observations)


def _parts(site: Site) -> Iterator[Cells]:
    """Every stay of a serial at a place."""
    by_place: dict[str, Requirement] = {}
    for one in site.requirements:
        if one.kind == "part":
            by_place.setdefault(site.case.names.place(one.place), one)
    for stay in site.placements:
        asked = by_place.get(site.case.names.place(stay.place))
        result = result_of(site.case, asked, stay.since)
        more = ("replaced",) if stay.until is not None else ()
        yield of_observation(site, stay.since) | {
            "tool": tool_of(stay.since),
            "sheet": asked.sheet if asked is not None else None,
            "source": (asked.source or None) if asked is not None else None,
            "verdict": result.verdict,
            "reasons": in_words(result.reasons),
            "states": states_of(site, result.verdict, result.reasons, stay.since, *more),
            "part": stay.place,
            "same": spellings_of(site, stay.place),
            "serial": stay.serial,
            "since": day_of(stay.since),
            "until": day_of(stay.until),
            "moved_from": stay.moved_from or None,
            "moved_to": stay.moved_to or None,
            "previous": stay.previous or None,
            "registered": stay.registered or None,
        }

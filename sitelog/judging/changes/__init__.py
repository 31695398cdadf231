"""Two states of the same sites → what changed in meaning: verdicts, entries, signatures, sheets and kits.

Moved blanks, comments, other spellings of the same value and renamed files are no change.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from sitelog.files.records import Kit, Sheet
from sitelog.judging.changes.entries import entries
from sitelog.judging.changes.shapes import FIGURES, Changes, Rejudged, Signature, SiteChange
from sitelog.judging.changes.sheets_and_kits import changed_sheets_and_kits, key_of
from sitelog.judging.changes.signatures import signatures
from sitelog.judging.changes.verdicts import flip, verdicts
from sitelog.judging.judged import Site

__all__ = ["Changes", "changes"]


def changes(
    before: Iterable[Site],
    after: Iterable[Site],
    asked_before: Sequence[Sheet | Kit] = (),
    asked_after: Sequence[Sheet | Kit] = (),
) -> Changes:
    """What changed between two states of the same sites, and of the sheets and kits of their files.

    `asked_before` and `asked_after` are those sheets and kits as they were read.
    """
    old = {site.name.casefold(): site for site in before}
    new = {site.name.casefold(): site for site in after}
    papers = list(changed_sheets_and_kits(asked_before, asked_after))
    # What a sheet asks of a base, it asks in its own name: a change of the base shows in it.
    bases = {
        f"sheet {sheet.name}": f"sheet {sheet.based_on}"
        for sheet in (*asked_after, *(used for site in new.values() for used in site.log.sheets))
        if isinstance(sheet, Sheet) and sheet.based_on
    }
    changed = {key_of(paper) for paper in papers}
    tally: dict[str, list[Rejudged]] = defaultdict(list)
    sites: list[SiteChange] = []
    for name in sorted(old.keys() | new.keys()):
        was, now = old.get(name), new.get(name)
        if was is None or now is None:
            sites.append(_whole(was, now))
            continue
        flips, judged_anew = verdicts(was, now)
        flips = [
            change._replace(because=tuple(_cause(key, changed, bases) for key in change.because))
            for change in flips
        ]
        edits, signed = tuple(entries(was, now)), tuple(signatures(was, now))
        if flips or edits or signed:
            figures = _figures(was, now)
            sites.append(SiteChange(now.name, "", now.log.files, 0, tuple(flips), edits, signed, figures))
        for key, (results, others) in judged_anew.items():
            tally[_cause(key, changed, bases)].append(Rejudged(now.name, results, others))
    return Changes(
        tuple(sites), tuple(paper._replace(rejudged=tuple(tally[key_of(paper)])) for paper in papers)
    )


def _cause(key: str, changed: set[str], bases: Mapping[str, str]) -> str:
    """The sheet or kit that changed: the one named, or the one it is based on."""
    seen: set[str] = set()
    at = key
    while at not in changed and at in bases and at not in seen:
        seen.add(at)
        at = bases[at]
    return at if at in changed else key


def _figures(before: Site | None, after: Site | None) -> tuple[tuple[str, int, int], ...]:
    """The figures that are others now."""
    found: list[tuple[str, int, int]] = []
    for name in FIGURES:
        was, now = (int(getattr(site.summary, name)) if site is not None else 0 for site in (before, after))
        if was != now:
            found.append((name, was, now))
    return tuple(found)


def _whole(before: Site | None, after: Site | None) -> SiteChange:
    """A site that is in one of the two states only."""
    site = after or before
    assert site is not None
    how = "new" if after is not None else "gone"
    return SiteChange(
        site.name,
        how,
        site.log.files,
        len(site.log.entries),
        tuple(
            flip(None, result, ()) if after is not None else flip(result, None, ()) for result in site.results
        ),
        (),
        tuple(
            Signature(how, check.sign.who, check.sign.purpose, check.sign.head.file, check.line)
            for check in site.signature_checks
        ),
        _figures(before, after),
    )

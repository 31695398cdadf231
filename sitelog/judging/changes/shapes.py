"""What a comparison hands on: verdicts, entries, signatures, sheets and kits that are others now."""

from __future__ import annotations

from typing import NamedTuple

FIGURES = ("errors", "warnings", "missing", "defects_open", "ready")
"""The figures of a site's summary that are shown beside its changes."""


class FileLine(NamedTuple):
    """One line of a file, as written; the number is 0 where it cannot be told."""

    file: str
    number: int
    text: str


class Edit(NamedTuple):
    """One entry that was `added`, `deleted`, `altered`, `moved`, `struck` or is `no longer struck`.

    `before` and `after` are the line in each state. `places` are those struck, where not all are.
    """

    how: str
    before: FileLine | None
    after: FileLine | None
    places: tuple[str, ...] = ()


class Flip(NamedTuple):
    """One thing with another verdict; `before` or `after` is empty where it was, or is, not asked nor there.

    `because` names the sheets, kits and files that made it so where the entry is still the same.
    """

    what: str
    place: str
    before: str
    after: str
    value_before: str
    value: str
    limits_before: str
    limits: str
    reason: str
    because: tuple[str, ...]
    file: str
    line: int


class Signature(NamedTuple):
    """One signature that is `new`, `gone` or `broken`, `holds again` or was `signed again`.

    Or its `sheets or kits changed`. `changed` is the number of the first changed line, 0 where that
    cannot be told.
    """

    how: str
    who: str
    purpose: str
    file: str
    line: int
    changed: int = 0


class SiteChange(NamedTuple):
    """What changed on one site; `how` is `new`, `gone` or empty. Figures are (before, after)."""

    site: str
    how: str
    files: tuple[str, ...]
    entries: int  # of a site that is new or gone
    verdicts: tuple[Flip, ...]
    edits: tuple[Edit, ...]
    signatures: tuple[Signature, ...]
    figures: tuple[tuple[str, int, int], ...]


class Rejudged(NamedTuple):
    """On one site, the results that a changed sheet or kit judged anew, and how many have another verdict."""

    site: str
    results: int
    flips: int


class SheetOrKitChange(NamedTuple):
    """One sheet or kit that says something else now (`how` is empty), is `new` or is `gone`."""

    kind: str
    name: str
    file: str
    how: str
    edits: tuple[Edit, ...]
    rejudged: tuple[Rejudged, ...]


class Changes(NamedTuple):
    """Everything that changed in meaning."""

    sites: tuple[SiteChange, ...]
    sheets_and_kits: tuple[SheetOrKitChange, ...]

    def __bool__(self) -> bool:
        """Whether anything did."""
        return bool(self.sites or self.sheets_and_kits)

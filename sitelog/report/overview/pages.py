"""What the files of a fleet's pages are called: names that every file system takes, one for each site."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

_LONGEST = 120  # bytes, of 255 that common file systems take


def page_names(sites: Iterable[str]) -> dict[str, str]:
    """For each site the name of the file with its handover page; the same for the same sites."""
    taken: set[str] = set()
    names: dict[str, str] = {}
    for site in sorted(set(sites), key=lambda site: (site.casefold(), site)):
        start = f"handover-{_plain(site)}"
        name, number = f"{start}.html", 1
        while name.casefold() in taken:  # many file systems take `Quay` and `quay` for one name
            number += 1
            name = f"{start}~{number}.html"
        taken.add(name.casefold())
        names[site] = name
    return names


def _plain(site: str) -> str:
    """The letters and digits of a name, in any script; a hyphen for everything else."""
    kept = "".join(
        one if one.isalnum() or one in "-_." else "-" for one in unicodedata.normalize("NFC", site)
    )
    joined = "-".join(piece for piece in kept.split("-") if piece.strip(".")) or "site"
    return joined.encode()[:_LONGEST].decode(errors="ignore")

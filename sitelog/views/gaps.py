"""What a site still lacks, as a list to read on the stairs before leaving."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from sitelog.base.text import printable
from sitelog.views.findings import READY, paint

if TYPE_CHECKING:
    from sitelog.views.shapes import GapLike


def gaps_text(
    sites: Iterable[str],
    gaps: Sequence[GapLike],
    *,
    waits: Mapping[tuple[str, str], Sequence[str]] | None = None,
    color: bool = False,
) -> str:
    """For each site its gaps by stage, in the order given (that of the work), a caution above its item.

    `waits` names, for a site and a stage, what has to come first and is still open.
    """
    by_site: dict[str, list[GapLike]] = {site: [] for site in sites}
    for gap in gaps:
        by_site.setdefault(gap.site, []).append(gap)
    text = ""
    for site, wanted in by_site.items():
        text += paint(printable(site), "1", color)
        text += f": {len(wanted)} still to do\n" if wanted else f": {READY}\n"
        for stage, items in groupby(wanted, key=lambda gap: gap.stage):
            first = ", ".join((waits or {}).get((site, stage), ()))
            # Without stages, what the sheets ask must not look like more of the defects above it.
            stage = stage or ("asked by the sheets" if len({gap.stage for gap in wanted}) > 1 else "")
            text += (
                f"  {printable(stage)}{f' (waits for {printable(first)})' if first else ''}\n"
                if stage
                else ""
            )
            for gap in items:
                if gap.caution:
                    text += "    " + paint(f"caution: {printable(gap.caution)}", "33", color) + "\n"
                mark = "" if gap.severity in ("", "info") else f"{gap.severity}: "
                text += f"    {mark}{printable(gap.text)}  ({printable(gap.file)}:{gap.line})\n"
    return text

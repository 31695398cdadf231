"""What a trace found, as text and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sitelog.base.text import printable
from sitelog.notation.places import compress
from sitelog.notation.quantities import format_quantity
from sitelog.views.findings import CAUTION
from sitelog.views.table import plain_table

if TYPE_CHECKING:
    from sitelog.judging.trace import IndicationError, Touched, Whereabouts


def tool_text(name: str, error: IndicationError, found: Sequence[Touched]) -> str:
    """The error in a sentence, every result it touched, and where somebody may have to go back."""
    lines = [f"{printable(name)}: {_sentence(error)}"]
    span = " ".join(
        filter(
            None, (f"from {error.since}" if error.since else "", f"to {error.until}" if error.until else "")
        )
    )
    if span:
        lines.append(f"results {span}")
    lines.append("judged with all that is known now")
    if error.uncertainty is None:
        lines.append("no U is stated, so it is unknown: the tool's own limits stand for it")
    if not found:
        return "\n".join([*lines, "no result was made with it in that time", ""])
    rows = [
        (
            one.site,
            " ".join(filter(None, (one.what, one.place))),
            one.day or "",
            one.by,
            format_quantity(one.written),
            format_quantity(one.corrected),
            one.limits.text,
            one.before if not one.flips else f"{one.before} → {one.after}",
            "" if one.stands else "replaced since",
            f"{one.file}:{one.line}",
        )
        for one in sorted(found, key=lambda one: (not one.flips, one.site, one.line))
    ]
    heads = ("site", "what", "day", "by", "written", "was truly", "limits", "verdict", "", "where")
    cells = [tuple(printable(str(cell)) for cell in row) for row in rows]
    lines += ["", plain_table(heads, cells), ""]
    back: dict[str, list[Touched]] = {}
    for one in found:
        if one.flips and one.stands and one.after != "pass":
            back.setdefault(one.site, []).append(one)
    flips = sum(one.flips for one in found)
    sites = len({one.site for one in found})
    lines.append(f"{len(found)} results on {sites} site{'s' * (sites > 1)}, {flips} with another verdict")
    for site, touched in back.items():
        places = compress(dict.fromkeys(one.place or one.what for one in touched))
        who = ", ".join(dict.fromkeys(one.by for one in touched if one.by))
        lines.append(
            printable(f"somebody may have to go back to {site}: {places}" + (f" ({who})" if who else ""))
        )
    return "\n".join([*lines, "", CAUTION, ""])


def _sentence(error: IndicationError) -> str:
    if len(error.points) == 1:
        share = error.points[0][1] * 100
        more = "more" if share > 0 else "less"
        return f"showed {abs(share):.3g} % {more} than there was; that is taken out below"
    points = ", ".join(f"{share * 100:+.2g} % at {shown:g}" for shown, share in error.points)
    return f"its error was {points} (base unit), between the points along a line; that is taken out below"


def tool_json(found: Sequence[Touched]) -> str:
    """A list of flat objects."""
    return _json(
        [
            {
                "site": one.site,
                "kind": one.kind,
                "what": one.what,
                "place": one.place,
                "day": one.day.isoformat() if one.day is not None else None,
                "by": one.by or None,
                "written": {"value": float(one.written.number), "unit": one.written.unit},
                "corrected": {"value": float(one.corrected.number), "unit": one.corrected.unit},
                "limits": one.limits.text or None,
                "verdict": one.before,
                "verdict_corrected": one.after,
                "flips": one.flips,
                "stands": one.stands,
                "file": one.file,
                "line": one.line,
            }
            for one in found
        ]
    )


def serial_text(wanted: str, found: Sequence[Whereabouts]) -> str:
    """Where each serial is now, then where it was."""
    if not found:
        return f"{printable(wanted)}: on no site\n"
    rows = [
        tuple(
            printable(str(cell))
            for cell in (
                one.serial,
                one.site,
                one.place,
                one.since or "",
                one.until or "there now",
                one.went_to,
                f"{one.file}:{one.line}",
            )
        )
        for one in found
    ]
    heads = ("serial", "site", "place", "since", "until", "went to", "where")
    now = [one for one in found if one.until is None]
    sites = ", ".join(dict.fromkeys(printable(one.site) for one in now))
    summary = f"{len(now)} on site now" + (f": {sites}" if now else "")
    return plain_table(heads, rows) + f"\n\n{summary}\n"


def serial_json(found: Sequence[Whereabouts]) -> str:
    """A list of flat objects."""
    return _json(
        [
            {
                "serial": one.serial,
                "site": one.site,
                "place": one.place,
                "since": one.since.isoformat() if one.since is not None else None,
                "until": one.until.isoformat() if one.until is not None else None,
                "went_to": one.went_to or None,
                "file": one.file,
                "line": one.line,
            }
            for one in found
        ]
    )


def _json(rows: list[dict[str, object]]) -> str:
    import json

    return json.dumps(rows, ensure_ascii=False, indent=2) + "\n"

"""What changed in meaning, as text and as JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from sitelog.base.text import printable
from sitelog.notation.places import compress
from sitelog.views.findings import CAUTION

if TYPE_CHECKING:
    from sitelog.judging.changes.shapes import (
        Changes,
        Edit,
        FileLine,
        Flip,
        SheetOrKitChange,
        Signature,
        SiteChange,
    )

NOTHING = "nothing changed in meaning"

_NOT_THERE = "—"
_MOST_SITES = 20  # named below a sheet or kit that judged them anew
_UNREMARKABLE = ("pass", "no-limit", "n/a")


def changes_text(found: Changes) -> str:
    """Site by site, then sheet by sheet and kit by kit."""
    if not found:
        return f"{NOTHING}\n"
    blocks = [*map(_site, found.sites), *map(_asking, found.sheets_and_kits)]
    return "\n".join("".join(f"{printable(line)}\n" for line in block) for block in [*blocks, [CAUTION]])


# ---- sites -------------------------------------------------------------------------------------------
def _site(one: SiteChange) -> list[str]:
    files = ", ".join(one.files)
    if one.how:
        word = "new, with" if one.how == "new" else "no longer there; it had"
        tally = Counter(flip.after or flip.before for flip in one.verdicts)
        told = ", ".join(f"{number} {verdict}" for verdict, number in tally.items())
        lines = [f"{one.site}: {word} {_count(one.entries, 'entry', 'entries')}  ({files})"]
        if told:
            lines.append(f"  verdicts: {told}")
        noted = [flip for flip in one.verdicts if flip.after not in (*_UNREMARKABLE, "missing", "")]
        return [*lines, *_flips(noted), *(f"  {_signature(signed)}" for signed in one.signatures)]
    lines = [f"{one.site}  ({files})"]
    if one.figures:
        lines.append("  " + ", ".join(_figure(*figure) for figure in one.figures))
    lines += _flips(one.verdicts)
    for edit in one.edits:
        lines += _edit(edit)
    lines += (f"  {_signature(signed)}" for signed in one.signatures)
    return lines


def _figure(name: str, before: int, after: int) -> str:
    if name == "ready":
        return (
            "nothing missing by these sheets any more"
            if after
            else "no longer nothing missing by these sheets"
        )
    return f"{name.replace('_', ' ')} {before} → {after}"


def _flips(flips: Iterable[Flip]) -> Iterator[str]:
    """One line for each thing, places of one entry that changed alike together."""
    groups: dict[tuple[object, ...], list[Flip]] = {}
    for one in flips:
        key = (one.what, one.before, one.after, one.because, one.limits, one.file, one.line)
        groups.setdefault(key, []).append(one)
    arrows = [
        f"{group[0].before or _NOT_THERE} → {group[0].after or _NOT_THERE}" for group in groups.values()
    ]
    width = max(map(len, arrows), default=0)
    for arrow, group in zip(arrows, groups.values(), strict=True):
        one = group[0]
        about = " ".join(filter(None, (one.what, _places(group))))
        told = _told(group)
        because = f"  by {', '.join(one.because)}" if one.because else ""
        yield f"  {arrow:<{width}}  {about}{': ' if told else ''}{told}{because}  ({one.file}:{one.line})"


def _places(group: Iterable[Flip]) -> str:
    return compress(dict.fromkeys(one.place for one in group))


def _told(group: Sequence[Flip]) -> str:
    """The reason where all have the same, else the values and what is asked; and what they were before."""
    one = group[0]
    values = _values([other.value for other in group])
    before = _values([other.value_before for other in group])
    reasons = {other.reason.replace(other.place, "\0") if other.place else other.reason for other in group}
    parts: list[str] = []
    if one.after not in (*_UNREMARKABLE, "missing") and len(reasons) == 1:
        reason = reasons.pop()
        parts.append(reason.removeprefix("\0 ").replace("\0", _places(group)))
    else:
        parts.append(values)
        if one.limits and one.after != "missing":
            parts.append(f"asked {one.limits}")
    if one.limits != one.limits_before and one.limits_before and one.limits:
        parts.append(f"before {one.limits_before}")
    told = ", ".join(filter(None, parts))
    return f"{told} (was {before})".strip() if before and before != values else told


def _values(texts: Sequence[str]) -> str:
    """Values one after the other, the unit once where all have the same: `12.1 12.0 9.8 Nm`."""
    if len(set(texts)) == 1:
        return texts[0]
    parts = [text.partition(" ") for text in texts]
    if len({unit for _, _, unit in parts}) == 1:
        return " ".join([*(number for number, _, _ in parts), parts[0][2]]).strip()
    return ", ".join(filter(None, texts))


def _edit(edit: Edit) -> Iterator[str]:
    how = f"{edit.how} {compress(edit.places)}" if edit.places else edit.how
    if edit.how == "altered" and edit.before is not None and edit.after is not None:
        yield f"  altered  {_at(edit.after)}"
        yield f"    was  {edit.before.text.strip()}"
        yield f"    now  {edit.after.text.strip()}"
    elif edit.after is not None:
        yield f"  {how:<7}  {_at(edit.after)}  {edit.after.text.strip()}"
    elif edit.before is not None:
        yield f"  {how:<7}  {_at(edit.before)} (before)  {edit.before.text.strip()}"


def _at(line: FileLine) -> str:
    return f"{line.file}:{line.number}"


def _signature(one: Signature) -> str:
    changed = f"; the first change is in line {one.changed}" if one.changed else ""
    how = "its sheets or kits changed" if one.how == "sheets or kits changed" else one.how
    who = ", ".join(filter(None, (one.who, one.purpose)))
    return f"signature of {who}: {how}{changed}  ({one.file}:{one.line})"


# ---- sheets and kits ---------------------------------------------------------------------------------
def _asking(one: SheetOrKitChange) -> list[str]:
    how = {"new": "new", "gone": "no longer there", "": "changed"}[one.how]
    lines = [f"{one.kind} {one.name}: {how}  ({one.file})"]
    for edit in one.edits:
        lines += _edit(edit)
    for judged in one.rejudged[:_MOST_SITES]:
        lines.append(f"  judged anew on {judged.site}: {_judged(judged.results, judged.flips)}")
    if rest := one.rejudged[_MOST_SITES:]:
        results, flips = sum(judged.results for judged in rest), sum(judged.flips for judged in rest)
        lines.append(f"  and on {_count(len(rest), 'site', 'sites')} more: {_judged(results, flips)}")
    if not one.rejudged:
        lines.append("  no result was judged anew by it")
    return lines


def _judged(results: int, flips: int) -> str:
    return f"{_count(results, 'result', 'results')}, {flips or 'none'} with another verdict"


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


# ---- JSON --------------------------------------------------------------------------------------------
def changes_json(found: Changes) -> str:
    """One object: `sites` and `sheets_and_kits`, with fixed keys."""
    import json

    answer = {
        "sites": [
            {
                "site": one.site,
                "how": one.how or "changed",
                "files": list(one.files),
                "entries": one.entries or None,
                "verdicts": [_flip_object(flip) for flip in one.verdicts],
                "edits": [_edit_object(edit) for edit in one.edits],
                "signatures": [
                    {
                        "how": signed.how,
                        "who": signed.who,
                        "purpose": signed.purpose or None,
                        "file": signed.file,
                        "line": signed.line,
                        "first_changed": signed.changed or None,
                    }
                    for signed in one.signatures
                ],
                "figures": {name: {"before": was, "after": now} for name, was, now in one.figures},
            }
            for one in found.sites
        ],
        "sheets_and_kits": [
            {
                "kind": one.kind,
                "name": one.name,
                "file": one.file,
                "how": one.how or "changed",
                "edits": [_edit_object(edit) for edit in one.edits],
                "judged_anew": [judged._asdict() for judged in one.rejudged],
            }
            for one in found.sheets_and_kits
        ],
    }
    return json.dumps(answer, ensure_ascii=False, indent=2) + "\n"


def _flip_object(one: Flip) -> dict[str, object]:
    told = {key: value or None for key, value in one._asdict().items() if key != "because"}
    return told | {"because": list(one.because)}


def _edit_object(one: Edit) -> dict[str, object]:
    return {
        "how": one.how,
        "places": list(one.places) or None,
        "before": _line_object(one.before),
        "after": _line_object(one.after),
    }


def _line_object(one: FileLine | None) -> dict[str, object] | None:
    return {"file": one.file, "line": one.number, "text": one.text} if one is not None else None

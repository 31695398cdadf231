"""`--plot`: what a site measured, and the rows of an answer, as strips and bars for a terminal."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from sitelog.asking.subjects import SUBJECTS
from sitelog.cli.edges import wants_color
from sitelog.notation.quantities.quantity import Quantity
from sitelog.views.rows import cell_text
from sitelog.views.strips import Bar, Signs, Strip, bars_text, signs_for, strips_text

if TYPE_CHECKING:
    import sitelog
    from sitelog.asking.question.request import Request
    from sitelog.judging.judged import Site
    from sitelog.judging.results import Result

_WIDTH = 100  # columns where no terminal says how wide it is


class NothingToDrawError(Exception):
    """What was asked for has no size; says what can be done."""


def width() -> int:
    """The columns to draw in."""
    if not sys.stdout.isatty():
        return _WIDTH
    import shutil

    return shutil.get_terminal_size().columns


# ---- of a site -------------------------------------------------------------------------------------
def sites_text(sites: Sequence[Site]) -> str:
    """What the sites measured against limits, site by site; empty where they measured nothing."""
    strips = [strip for site in sites for strip in _distinct(list(_of_site(site)))]
    return strips_text(strips, width(), signs_for(sys.stdout.encoding), color=wants_color(sys.stdout))


Dated = tuple[Strip, str, str]
"""A strip, and the day and the time that tell it from another of the same name."""


def _of_site(site: Site) -> Iterator[Dated]:
    for result in site.results:
        obs, limits = result.observation, result.limits
        if obs is None or result.requirement is None:
            continue
        value = result.value if result.value is not None else obs.value
        # As `insulation dc-pos/earth at 500 V`: what stands in the head is left out of each row.
        label = result.requirement.name.removeprefix(f"{result.kind} ").removeprefix(f"{result.what} ")
        u = 2 * result.instrument.u if result.instrument.u is not None else None
        found = [Strip(_group(result), label, value, limits.low, limits.high, u, result.verdict)]
        if result.kind == "hole":
            depth = result.requirement.second
            found[0] = found[0]._replace(group="hole diameter")
            found.append(
                found[0]._replace(group="hole depth", value=obs.second, low=depth.low, high=depth.high)
            )
        elif result.kind == "cable":
            asked = next((some for name, some in result.requirement.items if name == "drop"), limits)
            found[0] = found[0]._replace(low=asked.low, high=asked.high)
        when = str(obs.moment.day or ""), str(obs.moment.clock or "")
        for strip in found:
            kinds = {q.kind for q in (strip.low, strip.high) if q is not None}
            if strip.value is not None and kinds == {strip.value.kind}:
                yield strip._replace(group=f"{site.name}: {strip.group}"), *when


def _group(result: Result) -> str:
    if result.kind in ("joint", "hole"):
        return f"{result.kind}s"
    named = {"reading": result.what, "spread": f"{result.what} spread", "cable": "voltage drop"}
    return named.get(result.kind) or f"{result.kind} {result.what}".strip()


def _distinct(rows: Sequence[Dated]) -> list[Strip]:
    """The strips; where some of a group have one name, the day behind it, and if need be the time."""
    names = Counter((strip.group, strip.label) for strip, _, _ in rows)
    days = Counter((strip.group, strip.label, day) for strip, day, _ in rows)
    found: list[Strip] = []
    for strip, day, time in rows:
        more = [day] if names[strip.group, strip.label] > 1 else []
        more += [time] if days[strip.group, strip.label, day] > 1 else []
        found.append(strip._replace(label=" ".join(filter(None, (strip.label, *more)))))
    return found


# ---- of an answer ----------------------------------------------------------------------------------
_DRAWN = {
    "joints": ("value",),
    "torques": ("value",),
    "readings": ("value",),
    "holes": ("diameter", "depth"),
    "cables": ("drop",),
    "series": ("energy",),
    "steps": ("waited",),
}
_LIMITS = {
    "value": ("low", "high"),
    "diameter": ("diameter_low", "diameter_high"),
    "depth": ("depth_low", "depth_high"),
    "waited": ("wanted", ""),
}
_NOT_DRAWN = frozenset({"line", "target", *(name for pair in _LIMITS.values() for name in pair)})
_LABELS = {"readings": ("points", "condition"), "tools": ("tool",), "looks": ("what", "place")}
_NAMES = ("place", "points", "part", "step", "stage", "defect", "photo", "who", "what")
_SIZES = frozenset({"quantity", "ratio", "number"})


def drawable(request: Request) -> Request:
    """The request with all the fields that its drawing needs, where the question says what to show."""
    question = request.question
    if not question.show or question.measure is not None:
        return request
    from sitelog.asking.question.tree import ShownField

    word = question.show[0].field
    has = {item.field.text.lower() for item in question.show}
    wanted = [*_label_fields(request.subject.name), "site", "what", "day", "time", "verdict", "uncertainty"]
    wanted += [name for pair in _LIMITS.values() for name in pair]
    left = {column.name for column in SUBJECTS[request.subject.name].all_columns} - has
    more = tuple(ShownField(word._replace(text=name), None) for name in dict.fromkeys(wanted) if name in left)
    return request._replace(question=question._replace(show=question.show + more))


def answer_text(found: sitelog.Answer, shown: Sequence[str]) -> str:
    """The rows of an answer as strips, or as bars where they are counts; `shown` is what it was to show.

    Raises NothingToDrawError where they have no size.
    """
    if not found:
        return ""
    signs = signs_for(sys.stdout.encoding)
    if found.lines:
        strips = _distinct(list(_of_answer(found, shown)))
        text = strips_text(strips, width(), signs, color=wants_color(sys.stdout))
    else:
        text = _bars(found, signs)
    if not text:
        raise NothingToDrawError("no row has a value, so there is nothing to draw")
    return text


def _label_fields(subject: str) -> tuple[str, ...]:
    names = {column.name for column in SUBJECTS[subject].all_columns}
    return _LABELS.get(subject) or tuple(name for name in _NAMES if name in names)[:1]


def _of_answer(found: sitelog.Answer, shown: Sequence[str]) -> Iterator[Dated]:
    subject = found.tree.subject.text.lower()
    columns = {column.name: column for column in found.columns}
    drawn = [
        name for name in shown if name not in _NOT_DRAWN and name in columns and columns[name].type in _SIZES
    ]
    drawn = drawn if shown else list(_DRAWN.get(subject, ()))
    if not drawn:
        what = "what is shown has" if shown else f"{subject} have"
        raise NothingToDrawError(f"{what} no size to draw: `show` a field with numbers, or ask for a count")
    rows = [dict(zip(columns, row.cells, strict=False)) for row in found]
    several = len({row.get("site") for row in rows}) > 1
    for row in rows:
        names = [row.get(name) for name in _label_fields(subject)]
        label = " at ".join(str(name) for name in names if name)
        if several or not label:
            label = f"{row.get('site') or ''} {label}".strip()
        what = str(row.get("what") or "") if subject == "readings" else ""
        for name in drawn:
            value, unit = _size(row.get(name), columns[name].type), columns[name].unit
            low, high = (_size(row.get(limit)) for limit in _LIMITS.get(name, ("", "")))
            share = row.get("uncertainty") if name == "value" else None
            u = None
            if isinstance(share, float) and value is not None:
                u = share * abs(float(value.base))
            group = what if what and name == "value" else f"{what or subject} {name}"
            group = subject if group == f"{subject} value" else group
            verdict = str(row.get("verdict") or "")
            when = str(row.get("day") or ""), str(row.get("time") or "")
            yield Strip(group, label, value, low, high, u, verdict, unit), *when


def _size(cell: object, type_: str = "quantity") -> Quantity | None:
    """A cell as a quantity: a share in per cent, a number without a unit."""
    if isinstance(cell, Quantity) or not isinstance(cell, int | float):
        return cell if isinstance(cell, Quantity) else None
    number = Decimal(f"{cell:.12g}")
    if type_ == "ratio":
        return Quantity(Decimal(f"{number * 100:.4g}"), "%", "ratio", number)
    return Quantity(Decimal(f"{number:.6g}"), "", "number", number)


def _bars(found: sitelog.Answer, signs: Signs) -> str:
    """A bar for each group that was counted or measured; those of one kind of quantity on one scale."""
    per = found.columns[: len(found.tree.per)]
    measured = found.columns[len(per)]
    if measured.type not in (*_SIZES, "measure"):
        raise NothingToDrawError(f"`{measured.name}` is no size that could be drawn")
    bars: dict[str, list[Bar]] = {}
    for row in found:
        size = _size(row.cells[len(per)], measured.type)
        if size is not None:
            label = " ".join(cell_text(field, cell) for field, cell in zip(per, row.cells, strict=False))
            text = cell_text(measured, row.cells[len(per)])
            bars.setdefault(size.kind, []).append(Bar(label or measured.name, text, float(size.base)))
    measure = found.tree.measure
    words = [measure.name] if measure is not None and measure.field is not None else []
    words += [measured.name, "of", found.tree.subject.text.lower()]
    words += ["per", ", ".join(field.name for field in per)] if per else []
    return "\n".join(bars_text(" ".join(words), some, width(), signs) for some in bars.values())

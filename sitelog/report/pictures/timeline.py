"""One day, an entry a row: when, what, and how long was waited."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from sitelog.report.pictures.drawing import Drawing, areas, box, lines, marks, together
from sitelog.report.pictures.legend import legend
from sitelog.report.pictures.shapes import Event
from sitelog.report.pictures.style import LINE, SIGNS, TALLEST, TEXT, WIDTH, class_of
from sitelog.report.pictures.words import lines_of, many, number, plain, width_of

_TIME = 52.0  # room for `08:05`
_RAIL = 66.0  # the line that runs through the day
_WORDS = 84.0  # where the words begin
_ASKED = 0.6  # the wait that was asked ends at this share of a bar's room
_BAR = 20.0
_PAD = 9.0


class _EventRow(NamedTuple):
    event: Event
    words: Sequence[str]
    notes: Sequence[str]
    top: float
    height: float


def timeline(events: Sequence[Event], *, name: str) -> str:
    """The events from top to bottom as they are given, waits as bars beside the wait that was asked.

    Each bar has a scale of its own: the asked wait ends at the same place in all. A wait that nobody asked
    for stands in words alone. "" without events.
    """
    if not events:
        return ""
    return together([_part(rows) for rows in _placed(events)], name, _about(events))


def _placed(events: Sequence[Event]) -> list[list[_EventRow]]:
    parts: list[list[_EventRow]] = [[]]
    top = 0.0
    before: float | None = None
    for event in events:
        words = lines_of(plain(event.label), WIDTH - _WORDS, 3)
        notes = _notes(event, before)
        before = _when(event) if _when(event) is not None else before
        height = LINE * (len(words) + len(notes)) + (_BAR if _waits(event) else 0) + _PAD
        if top + height > TALLEST and parts[-1]:
            parts.append([])
            top = 0.0
        parts[-1].append(_EventRow(event, words, notes, top, height))
        top += height
    return parts


def _when(event: Event) -> float | None:
    """When a thing was done: a wait at its end."""
    return event.end if event.end is not None else event.start


def _waits(event: Event) -> bool:
    return event.wanted is not None or _waited(event) is not None


def _waited(event: Event) -> float | None:
    return None if event.start is None or event.end is None else event.end - event.start


def _notes(event: Event, before: float | None) -> list[str]:
    """What stands in words below an event: its verdict where it did not pass, its time where it goes back."""
    notes = []
    if event.verdict not in ("", "pass", "no-limit"):
        notes.append(f"{SIGNS[class_of(event.verdict)]} {event.verdict}")
    when = _when(event)
    if when is not None and before is not None and when < before:
        notes.append("△ earlier than what stands above")
    return notes


def clock(minutes: float | None) -> str:
    """Minutes since midnight as a time of day, the next day's with a `+`."""
    if minutes is None:
        return "–"
    whole = int(minutes)
    return f"{whole // 60 % 24:02}:{whole % 60:02}{'+' if whole >= 1440 else ''}"


def lasting(minutes: float) -> str:
    """A length of time in words: seconds below five minutes, minutes below three hours, then hours."""
    if minutes < 5:
        return f"{number(round(minutes * 60, 1))} s"
    return f"{number(round(minutes, 1))} min" if minutes < 180 else f"{number(round(minutes / 60, 2))} h"


def _wait_in_words(event: Event) -> str:
    waited = _waited(event)
    parts = [f"waited {lasting(waited)}"] if waited is not None else []
    if event.wanted is not None:
        parts.append(f"asked {lasting(event.wanted)}")
    return ", ".join(parts)


def _about(events: Sequence[Event]) -> str:
    times = [when for when in map(_when, events) if when is not None]
    parts = [many(len(events), "entry")]
    if times:
        parts.append(f"from {clock(min(times))} to {clock(max(times))}")
    waits = sum(map(_waits, events))
    bad = sum(class_of(event.verdict) == "bad" for event in events)
    return f"{' '.join(parts)}; {many(waits, 'wait')}, {bad} failing."


def _part(rows: Sequence[_EventRow]) -> Drawing:
    bottom = rows[-1].top + rows[-1].height
    extras = ["wait", "wanted"] if any(row.event.wanted for row in rows) else []
    signs = legend([], extras)
    drawing = Drawing(bottom + signs.height)
    plot = drawing.ground()
    said = max((width_of(_wait_in_words(row.event)) for row in rows if _waits(row.event)), default=0.0)
    whole = WIDTH - _WORDS - said - 12
    lines(plot, [[(_RAIL, 2), (_RAIL, bottom - 2)]], "rule", 2, order=1)
    waited, asked, stops = [], [], []
    kinds: dict[str, tuple[list[float], list[float]]] = {}
    for row in rows:
        event = row.event
        x, y = kinds.setdefault(class_of(event.verdict), ([], []))
        x.append(_RAIL)
        y.append(row.top + _PAD / 2 + LINE / 2)
        _words(drawing, row)
        if _waits(event):
            middle = row.top + row.height - _PAD / 2 - _BAR / 2
            if event.wanted and (lasted := _waited(event)) is not None:
                end = _WORDS + whole * _share(lasted, event.wanted)
                waited.append(box(_WORDS, end, middle - 4, middle + 4))
            if event.wanted:
                end = _WORDS + whole * _ASKED
                asked.append([(_WORDS, middle), (end, middle)])
                stops.append([(end, middle - 8), (end, middle + 8)])
            at, anchor = (WIDTH, "end") if event.wanted else (_WORDS, "start")
            drawing.text(at, middle + 5, _wait_in_words(event), colour="quiet", anchor=anchor)
    lines(plot, asked, "quiet", 1.2, gid="part asked", order=2)
    areas(plot, waited, "accent", gid="part waits", order=3)
    lines(plot, stops, "ink", 2.4, gid="part ends", order=4)
    for kind, (x, y) in kinds.items():
        marks(plot, kind, x, y)
    signs.draw(drawing, bottom)
    return drawing


def _share(waited: float, wanted: float) -> float:
    """How much of a bar's room a wait fills."""
    return max(0.0, min(waited / wanted * _ASKED, 1.0))


def _words(drawing: Drawing, row: _EventRow) -> None:
    event = row.event
    parts = [f"{clock(_when(event))} {event.label}", event.verdict]
    if _waits(event):
        parts.append(_wait_in_words(event))
    over = drawing.row(row.top, row.height, event.link, ", ".join(filter(None, parts)))
    foot = row.top + _PAD / 2 + TEXT - 1
    drawing.text(_TIME, foot, clock(_when(event)), colour="quiet", anchor="end", into=over)
    for words in row.words:
        drawing.text(_WORDS, foot, words, into=over)
        foot += LINE
    kind = class_of(event.verdict)
    for note in row.notes:
        colour = "open" if note.startswith("△") or kind in ("open", "missing") else "bad"
        drawing.text(_WORDS, foot, note, colour=colour, bold=True, into=over)
        foot += LINE

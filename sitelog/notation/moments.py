"""Days and times of day as people write them, and what is wrong with those that can't be meant."""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache

from sitelog.base.frozen import NamedTuple
from sitelog.notation.quantities.quantity import Problem


class Clock(NamedTuple):
    """A time of day in seconds from midnight, good to `grain` seconds (60 or 1)."""

    seconds: int
    grain: int

    def __str__(self) -> str:
        hours, rest = divmod(self.seconds, 3600)
        minutes, seconds = divmod(rest, 60)
        return f"{hours:02}:{minutes:02}" + (f":{seconds:02}" if self.grain == 1 else "")


_WRITE = "a date is 2026-03-02: year, month, day"
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


@lru_cache(maxsize=4096)
def read_date(text: str) -> date | Problem:
    """`2026-03-02`, or what is wrong with it; both readings of a date such as `3/2/2026`."""
    if len(text) == 10 and text[4] == text[7] == "-":
        try:
            return date.fromisoformat(text)
        except ValueError:
            return Problem("bad-date", f"{text} is not in the calendar", _WRITE)
    if parts := re.fullmatch(r"([0-9]{1,2})[/.-]([0-9]{1,2})[/.-]([0-9]{4}|[0-9]{2})", text):
        first, second, year = (int(part) for part in parts.groups())
        year += 2000 if len(parts[3]) == 2 else 0
        orders = dict.fromkeys(((first, second), (second, first)))
        readings = [found for day, month in orders if (found := _day(year, month, day)) is not None]
        help = "write " + " or ".join(f"{day} ({day.day} {_MONTHS[day.month - 1]})" for day in readings)
        if len(readings) == 2:
            return Problem("ambiguous-date", f"`{text}` can be read in two ways", help)
        return Problem("bad-date", f"`{text}` is not written as a date", help if readings else _WRITE)
    if parts := re.fullmatch(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})", text):
        meant = _day(*(int(part) for part in parts.groups()))
        return Problem(
            "bad-date", f"`{text}` is not written as a date", f"write {meant}" if meant else _WRITE
        )
    return Problem("bad-date", f"`{text}` is no date", _WRITE)


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def looks_like_date(text: str) -> bool:
    """Whether someone meant a date by it, well written or not."""
    return re.fullmatch(r"[0-9]{1,4}([/.-])[0-9]{1,2}\1(?:[0-9]{2}){1,2}", text) is not None


@lru_cache(maxsize=4096)
def read_clock(text: str) -> Clock | Problem:
    """`08:05`, `10:13:20`, `8:05am`, `10.13`; a problem for anything else."""
    found = re.fullmatch(r"([0-9]{1,2})[:.,]([0-9]{2})(?::([0-9]{2}))?([ap]m)?", text)
    if found is None:
        return Problem("bad-time", f"`{text}` is not a time of day", _as_clock(text))
    hours, minutes, seconds = int(found[1]), int(found[2]), int(found[3] or 0)
    if half := found[4]:
        if not 1 <= hours <= 12:
            return Problem("bad-time", f"`{text}` is not a time of day", "write 8:05 am or 20:05")
        hours = hours % 12 + (12 if half == "pm" else 0)
    if hours > 23 or minutes > 59 or seconds > 59:
        return Problem("bad-time", f"`{text}` is not a time of day", "the last of a day is 23:59:59")
    return Clock(hours * 3600 + minutes * 60 + seconds, 1 if found[3] else 60)


def _as_clock(text: str) -> str:
    """What a time without its colon, or without a nought, probably was."""
    meant = []
    if found := re.fullmatch(r"([0-9]{1,2})([0-9]{2})", text) or re.fullmatch(
        r"([0-9]{1,2})h([0-9]{2})", text
    ):
        meant = [f"{int(found[1]):02}:{found[2]}"]
    elif found := re.fullmatch(r"([0-9]{1,2})[:.,]([0-9])", text):
        meant = [f"{int(found[1]):02}:0{found[2]}", f"{int(found[1]):02}:{found[2]}0"]
    meant = [clock for clock in meant if int(clock[:2]) < 24 and int(clock[3:]) < 60]
    return "write " + " or ".join(meant or ["it as 08:05"])

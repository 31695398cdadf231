"""Days as people say them: a day, a month, a week, a quarter, a year, `last month`."""

import re
from datetime import date, timedelta

from sitelog.base.frozen import NamedTuple


class Period(NamedTuple):
    """From the first to the last day, both included."""

    first: date
    last: date


_DAY = r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})"
_MONTH = r"([0-9]{4})-([0-9]{1,2})"
_WEEK = r"([0-9]{4})-[wW]([0-9]{1,2})"
_QUARTER = r"([0-9]{4})-[qQ]([1-4])"
_YEAR = r"[0-9]{4}"
_RELATIVE = ("week", "month", "quarter", "year")
_SPANS = {
    "day": "day",
    "days": "day",
    "d": "day",
    "week": "week",
    "weeks": "week",
    "month": "month",
    "months": "month",
    "year": "year",
    "years": "year",
}
FORMS = "2026-03-02, 2026-03, 2026-W10, 2026-Q1, 2026, today, yesterday, last month"


def period(text: str, today: date) -> Period | None:
    """The days that a text means, or None where it is none (`2026-02-30` is none)."""
    word = " ".join(text.lower().split())
    if word in ("today", "yesterday"):
        day = today - timedelta(days=word == "yesterday")
        return Period(day, day)
    which, _, unit = word.partition(" ")
    if which in ("last", "this") and unit in _RELATIVE:
        current = _around(today, unit)
        return current if which == "this" else _around(current.first - timedelta(days=1), unit)
    try:
        return _written(word)
    except ValueError:  # a month 13, a day 30 of February, a week 53 that the year does not have
        return None


def before(today: date, count: int, unit: str) -> date | None:
    """The day so many days, weeks, months or years before today (after it where count is negative).

    Of a month too short the last day is taken. None for an unknown unit or a day beyond the calendar.
    """
    size = _SPANS.get(unit.lower())
    try:
        if size == "day":
            return today - timedelta(days=count)
        if size == "week":
            return today - timedelta(weeks=count)
        if size in ("month", "year"):
            return _months_back(today, count * (12 if size == "year" else 1))
    except (ValueError, OverflowError):
        return None
    return None


def _written(word: str) -> Period | None:
    if match := re.fullmatch(_DAY, word):
        day = date(*map(int, match.groups()))
        return Period(day, day)
    if match := re.fullmatch(_MONTH, word):
        return _around(date(int(match[1]), int(match[2]), 1), "month")
    if match := re.fullmatch(_WEEK, word):  # ISO 8601: weeks begin on Monday
        return _around(date.fromisocalendar(int(match[1]), int(match[2]), 1), "week")
    if match := re.fullmatch(_QUARTER, word):
        return _around(date(int(match[1]), int(match[2]) * 3, 1), "quarter")
    if re.fullmatch(_YEAR, word):
        return _around(date(int(word), 1, 1), "year")
    return None


def _around(day: date, unit: str) -> Period:
    """The week, month, quarter or year that a day lies in."""
    if unit == "week":
        first = day - timedelta(days=day.weekday())
        return Period(first, first + timedelta(days=6))
    start = {"month": day.month, "quarter": (day.month - 1) // 3 * 3 + 1, "year": 1}[unit]
    end = {"month": day.month, "quarter": start + 2, "year": 12}[unit]
    from calendar import monthrange

    return Period(date(day.year, start, 1), date(day.year, end, monthrange(day.year, end)[1]))


def _months_back(day: date, count: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 - count, 12)
    from calendar import monthrange

    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))

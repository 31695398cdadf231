"""The cells of one row → numbers in base units, and the time in seconds."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

from sitelog.files.trials.columns import LoggerColumn, shown
from sitelog.files.trials.lines import BadLineError
from sitelog.files.trials.results import TrialFault
from sitelog.notation.lookalikes import plain_value

_BLANK = frozenset({"", "nan", "null", "none", "-", "--", "n/a", "na", "#n/a"})
_MOST = 1e9  # in base units; nothing on a wall comes near it, and sums of larger ones mean nothing
_EPOCH = 1e8  # seconds; a time above this counts from 1970 (1e8 s is 1973)
_CLOCK = re.compile(r"(\d{1,3}):(\d\d)(?::(\d\d(?:[.,]\d+)?))?")
_DAY_FIRST = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_SLASHED = re.compile(r"\d{1,2}/\d{1,2}/\d{2,4}")
_FRACTION = re.compile(r"([.,]\d{1,6})\d*")
_DAY = 86_400.0
_ZONED, _UNZONED = datetime(1970, 1, 1, tzinfo=UTC), datetime(1970, 1, 1)


def day_of(seconds: float) -> date:
    """The day of a time in seconds since 1970, in the zone that it was written in or else in UTC."""
    return (_UNZONED + timedelta(seconds=seconds)).date()


class NumberReader:
    """Reads numbers of one file. A comma is the decimal sign where it is not the delimiter."""

    def __init__(self, file: str, delimiter: str) -> None:
        self.file = file
        self._comma = delimiter != ","
        self._seen = ""

    def read(self, cells: Sequence[str], column: LoggerColumn, line: int) -> float | None:
        """The value in the base unit of the column's kind; None where it is empty. Raises BadLineError."""
        if column.at >= len(cells):
            return None
        text = cells[column.at]
        try:
            number = float(text)
        except ValueError:
            number = self._slowly(text, column, line)
        if number != number:
            return None
        number = (number + column.offset) * column.factor
        if abs(number) > _MOST and column.role not in ("time", "datetime"):
            raise BadLineError(self._trouble(text, column, line))
        return number

    def _slowly(self, text: str, column: LoggerColumn, line: int) -> float:
        plain = plain_value(text).strip().strip('"')
        if plain.casefold() in _BLANK:
            return float("nan")
        if self._comma and "," in plain:
            if "." in plain or plain.count(",") > 1 or self._seen == ".":
                message = f"`{shown(text)}` may hold a decimal or a thousands separator"
                raise BadLineError(
                    TrialFault(self.file, line, message, "write numbers without thousands separators")
                )
            self._seen = ","
            plain = plain.replace(",", ".")
        try:
            return float(plain)
        except ValueError:
            raise BadLineError(self._trouble(text, column, line)) from None

    def _trouble(self, text: str, column: LoggerColumn, line: int) -> TrialFault:
        return TrialFault(
            self.file, line, f"`{shown(text)}` in the column `{column.name}` is no value that can be meant"
        )


class TimeReader:
    """Reads times: seconds (or the header's unit), since 1970, dates with times, times of day."""

    def __init__(self, column: LoggerColumn, date: LoggerColumn | None, numbers: NumberReader) -> None:
        self.file = numbers.file
        self.column = column
        self.date = date
        self.numbers = numbers
        self.unit_said = not column.assumed
        self.as_seconds = False  # a bare number without a unit was taken for seconds
        self.zoned: bool | None = None
        self.dated = False  # the times carry dates
        self._last: float | None = None
        self._midnights = 0.0

    def read(self, cells: Sequence[str], line: int) -> float | None:
        """Seconds from some fixed beginning; None where the cell is empty. Raises BadLineError."""
        if self.column.at >= len(cells):
            return None
        text = cells[self.column.at].strip()
        if not text or text.casefold() in _BLANK:
            return None
        if ":" not in text and "-" not in text[1:] and "/" not in text:
            number = self.numbers.read(cells, self.column, line)
            if number is not None and not self.unit_said and number < _EPOCH:
                self.as_seconds = True
            elif number is not None and not self.unit_said and number > _EPOCH * 1000:
                number /= 1000  # milliseconds since 1970
            self.dated = number is not None and number > _EPOCH
            return number
        if "e-" in text.casefold() and ":" not in text:
            return self.numbers.read(cells, self.column, line)
        if self.date is not None and self.date.at < len(cells) and "-" not in text and "/" not in text:
            text = f"{cells[self.date.at].strip()} {text}"
        return self._written(text, line)

    def _written(self, text: str, line: int) -> float:
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            if clock := _CLOCK.fullmatch(text):
                return self._of_day(clock)
            moment = self._other_form(text, line)
        self.dated = True
        zoned = moment.tzinfo is not None
        if self.zoned is not zoned:
            if self.zoned is not None:
                message = "some times carry a zone and some do not"
                raise BadLineError(TrialFault(self.file, line, message, "write all of them with one"))
            self.zoned = zoned
        return (moment - (_ZONED if zoned else _UNZONED)).total_seconds()

    def _other_form(self, text: str, line: int) -> datetime:
        """Dates with the day first and dots, with strokes behind the year, and long fractions of seconds."""
        if _SLASHED.match(text):
            message = f"`{shown(text)}` can be read as day/month or month/day"
            raise BadLineError(
                TrialFault(self.file, line, message, "have the logger write 2026-03-02 10:15:00")
            )
        plain = _DAY_FIRST.sub(lambda day: f"{day[3]}-{int(day[2]):02}-{int(day[1]):02}", text, count=1)
        plain = plain.replace("/", "-").replace(" UTC", "+00:00").replace(" +", "+")
        plain = _FRACTION.sub(lambda part: part[1].replace(",", "."), plain, count=1)
        try:
            return datetime.fromisoformat(plain)
        except ValueError:
            message = f"`{shown(text)}` is no date and time that can be meant"
            help = "write 2026-03-02 10:15:00, or seconds"
            raise BadLineError(TrialFault(self.file, line, message, help)) from None

    def _of_day(self, clock: re.Match[str]) -> float:
        """A time of day, or a stopwatch; back by more than half a day is a midnight."""
        seconds = int(clock[1]) * 3600 + int(clock[2]) * 60 + float((clock[3] or "0").replace(",", "."))
        if self._last is not None and seconds + self._midnights < self._last - _DAY / 2:
            self._midnights += _DAY
        self._last = seconds + self._midnights
        return self._last

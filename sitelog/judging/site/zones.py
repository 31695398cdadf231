"""Times of day in a zone, where a clock change makes one moment two, or none."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta


def instants(day: date, seconds: int, zone: str) -> tuple[datetime, ...]:
    """Every moment that a time of day can mean.

    Two where clocks were put back and the hour came twice, earlier one first; two as well where they were
    put forward and the hour never came, for the watch was then set before or after. Without a zone, one.
    """
    local = datetime(day.year, day.month, day.day) + timedelta(seconds=seconds)
    if not zone:
        return (local,)
    from zoneinfo import ZoneInfo

    there = local.replace(tzinfo=ZoneInfo(zone))
    return tuple(sorted({there.replace(fold=fold).astimezone(UTC) for fold in (0, 1)}))


def comes_twice(day: date | None, seconds: int, zone: str) -> bool:
    """Whether a time of day can mean two moments."""
    return bool(zone) and day is not None and len(instants(day, seconds, zone)) == 2

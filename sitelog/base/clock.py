"""The day that it is, and the time."""

import time
from datetime import date


def this_day() -> date:
    """Today, by the clock of this machine."""
    return date.today()


def nanoseconds() -> int:
    """The time since 1970 in nanoseconds, by the clock of this machine."""
    return time.time_ns()

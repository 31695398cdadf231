"""The day that it is."""

from datetime import date


def this_day() -> date:
    """Today, by the clock of this machine."""
    return date.today()

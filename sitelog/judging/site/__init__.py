"""Records → what was done on one site, in order."""

from sitelog.judging.site.observations import EntryContext, LogEntry, Moment, Observation
from sitelog.judging.site.site import CLOSING, INSTALL, SiteLog, VisitPeriod, gather

__all__ = [
    "CLOSING",
    "INSTALL",
    "EntryContext",
    "LogEntry",
    "Moment",
    "Observation",
    "SiteLog",
    "VisitPeriod",
    "gather",
]

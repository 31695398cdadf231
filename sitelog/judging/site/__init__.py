"""Records → what was done on one site, in order."""

from sitelog.judging.site.marks import Around, Mark, Moment
from sitelog.judging.site.site import CLOSING, INSTALL, SiteLog, Stay, Written, gather

__all__ = ["CLOSING", "INSTALL", "Around", "Mark", "Moment", "SiteLog", "Stay", "Written", "gather"]

"""Records → what was done on one site, in order."""

from sitelog.site.marks import Around, Mark, Moment
from sitelog.site.site import CLOSING, INSTALL, SiteLog, Stay, Written, gather

__all__ = ["CLOSING", "INSTALL", "Around", "Mark", "Moment", "SiteLog", "Stay", "Written", "gather"]

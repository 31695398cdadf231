"""What was read and judged, kept on the disk, and brought up to date where files have changed."""

from sitelog.fleet.index.opening import Index, NotServingError, open_index
from sitelog.fleet.index.request import IndexRequest

__all__ = ["Index", "IndexRequest", "NotServingError", "open_index"]

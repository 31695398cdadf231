"""What was read and judged, kept on the disk, and brought up to date where files have changed."""

from sitelog.fleet.index.opening import Index, NotServingError, open_index

__all__ = ["Index", "NotServingError", "open_index"]

"""What was read and judged, kept on the disk, and brought up to date where files have changed."""

from sitelog.index.opening import Index, open_index

__all__ = ["Index", "open_index"]

"""What a barcode reader typed, and the check digits of serials. Knows nothing else of sitelog.

The libraries behind it come with the extra `scan` and are imported where they are needed: few logs hold
a scan. Where one is not installed, `MissingLibraryError` says so.
"""

from sitelog.notation.codes.checks import SCHEMES, Scheme, fault
from sitelog.notation.codes.code import Code, MissingLibraryError
from sitelog.notation.codes.reading import read_code

__all__ = ["SCHEMES", "Code", "MissingLibraryError", "Scheme", "fault", "read_code"]

"""How the trade writes things down: quantities, days and times, ranges of places, barcodes.

In: written text. Out: a value, or a problem in words. Knows no entries, no sheets, no files.
"""

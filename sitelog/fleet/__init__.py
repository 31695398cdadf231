"""Paths → every site in them, judged, in one process or several, with or without an index on the disk.

In: paths and a day. Out: judged sites and findings. Knows no output format.
"""

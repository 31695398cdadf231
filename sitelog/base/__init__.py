"""Tools for every room: frozen records, cache files, processes, verdicts, printable text, the clock.

Knows nothing of logs, sheets or questions.
"""

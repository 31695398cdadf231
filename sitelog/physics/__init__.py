"""Formulas of the trade, each with its source.

In: numbers with units. Out: numbers with units. Knows nothing else of sitelog.
"""

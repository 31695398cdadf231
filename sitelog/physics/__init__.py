"""Formulas: numbers with units in, numbers with units out, each with its source.

Nothing else of sitelog is known here.
"""

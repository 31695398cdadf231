"""Rows, findings, gaps, traces and changes → text, JSON, CSV, Markdown, SARIF, JUnit XML, strips and bars.

In: data that other rooms made. Out: text. Knows nothing of how the data came about.
"""

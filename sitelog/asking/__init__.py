"""A judged site → rows; a question → a typed tree → one SQL statement over those rows.

In: judged sites, a question. Out: rows. Knows nothing of how files were found or how rows are shown.
"""

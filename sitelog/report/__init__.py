"""A judged site → the handover; many judged sites → the overview.

In: judged sites. Out: an HTML page, Markdown or a PDF. Facts come first, then pictures of them, then the page
made by a template. What only pages need is the extra `report`. Knows no command line and no question's SQL.
"""

"""A fleet of sites at a glance: facts (`Overview`) from answers to questions, then HTML or Markdown of them.

It asks what a reader can ask too, one question for each table, so that its numbers are those of `ask`, and so
that no more of the sites is held than the rows it shows. `page.py` draws the pictures and fills the template,
`markdown.py` writes the same as text.
"""

from sitelog.report.overview.facts import overview

__all__ = ["overview"]

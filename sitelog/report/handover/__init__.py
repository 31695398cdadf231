"""The handover of one site: facts (`Handover`), then HTML or Markdown made of them.

The facts are words and numbers, the same that `ask` gives, and know nothing of markup; `page.py` draws the
pictures and fills the template, `markdown.py` writes the same as text.
"""

from sitelog.report.handover.facts import handover

__all__ = ["handover"]

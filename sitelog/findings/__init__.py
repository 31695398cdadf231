"""What sitelog says about a line: the finding, the catalogue of slugs, and a page for each slug.

In: a slug, a message and a place in a file. Out: a finding. Knows nothing of how a fault is found.
"""

from sitelog.findings.catalog import CATALOG, Slug
from sitelog.findings.finding import Finding, Span

__all__ = ["CATALOG", "Finding", "Slug", "Span"]

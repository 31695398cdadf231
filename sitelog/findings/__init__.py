"""What sitelog has to say about a line: the data type every room hands on, and the table of slugs."""

from sitelog.findings.catalog import CATALOG, Slug
from sitelog.findings.finding import Finding, Span

__all__ = ["CATALOG", "Finding", "Slug", "Span"]

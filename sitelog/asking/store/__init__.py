"""Rows in SQLite: the only place that knows the database."""

from sitelog.asking.store.store import StatementError, Store

__all__ = ["StatementError", "Store"]

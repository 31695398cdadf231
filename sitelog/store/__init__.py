"""Rows in SQLite: the only place that knows the database."""

from sitelog.store.store import Store

__all__ = ["Store"]

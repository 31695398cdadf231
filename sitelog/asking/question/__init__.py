"""Asking: a question becomes a typed tree, and the tree one SQL statement with its parameters.

Nothing here opens a file or a database: `read.parse` makes the tree, `compiler.compile` the SQL.
"""

"""Files that a log names: whether they are there, and whether a photo is the one that was meant."""

from __future__ import annotations

import os
from collections.abc import Iterator

from sitelog.files.records import Log
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.language.kinds.paper import Photo

SHORTEST_HASH = 8
"""Hexadecimal digits; fewer tell too little."""


def attachments(log: Log) -> Iterator[Finding]:
    """What is wrong with the photos that a log names; they are looked for beside it and below.

    A hash given with a photo is the beginning of the SHA-256 of its bytes, in hexadecimal digits.
    """
    for path, record in _named(log):
        if not os.path.isfile(path):
            yield _at(log, record, "photo-absent", f"the photo {record.file_name} is not beside the log")
        elif record.digest:
            yield from _hash(log, record, path)


def photos(log: Log) -> list[str]:
    """The paths of the photos that a log names."""
    return [path for path, _ in _named(log)]


def file_hash(path: str) -> str | None:
    """The SHA-256 of a file's bytes as hexadecimal digits; None where it cannot be read."""
    from hashlib import file_digest

    try:
        with open(path, "rb") as stream:
            return file_digest(stream, "sha256").hexdigest()
    except OSError:
        return None


def _named(log: Log) -> Iterator[tuple[str, Photo]]:
    folder = os.path.dirname(log.file)
    for line in log.lines:
        record = line.record
        if isinstance(record, Photo) and log.file != "-" and record.file_name.strip("_"):
            yield os.path.join(folder, record.file_name), record


def _hash(log: Log, record: Photo, path: str) -> Iterator[Finding]:
    wanted = record.digest.casefold().removeprefix("sha256:").removeprefix("sha-256:")
    if len(wanted) < SHORTEST_HASH or any(digit not in "0123456789abcdef" for digit in wanted):
        wanted = f"at least {SHORTEST_HASH} hexadecimal digits of the photo's SHA-256"
        message = f"`{record.digest}` is no hash: {wanted}"
        yield _at(log, record, "photo-changed", message)
        return
    found = file_hash(path)
    if found is None:
        yield _at(log, record, "photo-absent", f"{record.file_name} cannot be read")
        return
    if not found.startswith(wanted):
        message = (
            f"{record.file_name} is not the photo that was meant: its hash begins with {found[: len(wanted)]}"
        )
        yield _at(log, record, "photo-changed", message)


def _at(log: Log, record: Photo, slug: str, message: str) -> Finding:
    return finding_at(record.head.entry.span(log.file), slug, message)

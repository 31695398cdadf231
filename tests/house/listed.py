"""Exceptions that are listed with a reason, `what: where -- reason`, and may only shrink."""

from collections.abc import Sequence
from pathlib import Path


def hold(path: Path, found: Sequence[str], update: bool, reason: str = "") -> None:
    """The exceptions found are those listed, each with a reason; or the list is written anew.

    `found` holds `what: where` in order. A written reason stays; a new exception gets `reason`, and where
    that is empty the list fails until somebody has written one.
    """
    lines = path.read_text(encoding="utf-8").splitlines()
    notes = [line for line in lines if line.startswith("#")]
    known = dict(line.split(" -- ") for line in lines if line and not line.startswith("#"))
    if update:
        reasons = {exception.split(":")[0]: words for exception, words in known.items()}
        fresh = [f"{exception} -- {reasons.get(exception.split(':')[0], reason)}" for exception in found]
        path.write_text("".join(f"{line}\n" for line in (*notes, *fresh)), encoding="utf-8", newline="\n")
        return
    assert list(known) == list(found)
    assert [exception for exception, words in known.items() if not words] == []

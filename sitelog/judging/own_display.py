"""When a value that the equipment displayed itself counts, though no instrument of the crew made it."""

from __future__ import annotations

from sitelog.judging.site import Observation
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.reading import Reading
from sitelog.language.kinds.requirement import Requirement

KNOWN_TO_THE_EQUIPMENT = frozenset({"soc", "soh", "state", "firmware", "power", "energy", "cycles", "alarms"})
"""Sorts of reading that only the equipment can tell: its own display counts without a word in the sheet."""

TAKES_AN_INSTRUMENT = frozenset(
    {
        "insulation",
        "continuity",
        "loop",
        "rcd-time",
        "rcd-current",
        "electrode",
        "earth-electrode",
        "polarity",
    }
)
"""Tests that no equipment makes of itself, whatever a sheet says (IEC 61557 has an instrument for each)."""

NO_DISPLAY = frozenset(
    {"memory", "mind", "head", "hearsay", "guess", "guesswork", "estimate", "experience", "feel", "habit"}
)
"""What people write behind `from` that displays nothing."""


def displayed_by(obs: Observation) -> str:
    """What an entry names behind `from`; empty where it names nothing."""
    return obs.record.displayed if isinstance(obs.record, Reading) else ""


def display_counts(obs: Observation, requirement: Requirement | None) -> bool:
    """Whether the equipment's own display may stand for an instrument.

    Evidence needed: a name behind `from` that can display something, and either a sort of reading that only
    the equipment knows, or a sheet that says `from` in the line that asks it. Never for a test that takes an
    instrument, and never for a test for dead.
    """
    source, what = displayed_by(obs).casefold(), obs.what.casefold()
    if not source or source in NO_DISPLAY or what in TAKES_AN_INSTRUMENT or row_of(obs.kind).symmetric:
        return False
    return what in KNOWN_TO_THE_EQUIPMENT or (requirement is not None and bool(requirement.displayed))

"""Threaded fasteners: what a torque stretches a bolt to, and what the bolt can bear."""

from __future__ import annotations

import re
from functools import lru_cache
from math import pi

from sitelog.base.frozen import NamedTuple

COARSE_PITCH = {
    2.5: 0.45, 3: 0.5, 3.5: 0.6, 4: 0.7, 5: 0.8, 6: 1.0, 7: 1.0, 8: 1.25, 10: 1.5, 12: 1.75, 14: 2.0, 16: 2.0,
    18: 2.5, 20: 2.5, 22: 2.5, 24: 3.0, 27: 3.0, 30: 3.5,
}  # fmt: skip
"""mm, by nominal diameter in mm. Source: ISO 261 (coarse series)."""

PROOF_STRESS = {
    "4.6": 225, "4.8": 310, "5.6": 280, "5.8": 380, "6.8": 440, "8.8": 580, "9.8": 650, "10.9": 830,
    "12.9": 970, "A2-50": 210, "A2-70": 450, "A2-80": 600, "A4-50": 210, "A4-70": 450,
    "A4-80": 600,
}  # fmt: skip
"""MPa. Steel: ISO 898-1:2013, table 3. Stainless: the 0.2 % proof strength of ISO 3506-1 (from memory)."""
PROOF_STRESS_8_8_THICK = 600
"""MPa, class 8.8 above 16 mm; 580 up to it (ISO 898-1:2013, table 3)."""
STRONGEST = "12.9"

NUT_FACTOR = 0.20
"""K in T = K·d·F, dry or lightly oiled steel; the usual short form (common practice, no source)."""
NUT_FACTOR_LOW, NUT_FACTOR_HIGH = 0.15, 0.30
"""K from well lubricated to rough or rusty (common practice, no source)."""


class Thread(NamedTuple):
    """A metric thread: nominal diameter and pitch in mm."""

    diameter: float
    pitch: float


def thread(text: str) -> Thread | None:
    """`M8`, `M8x1`, `m10 x 1.25` as a thread, other words aside; None where no metric one stands there."""
    found = re.search(r"(?<!\S)[Mm](\d+(?:\.\d+)?)(?:\s*[x×*]\s*(\d+(?:\.\d+)?))?(?!\S)", text)
    if found is None:
        return None
    diameter = float(found[1])
    pitch = float(found[2]) if found[2] else COARSE_PITCH.get(diameter)
    # A "pitch" over a quarter of the diameter is a length: M8x30 is a screw of 30 mm.
    if pitch is not None and pitch > diameter / 4:
        pitch = COARSE_PITCH.get(diameter)
    return Thread(diameter, pitch) if pitch else None


def pitch_diameter(thread: Thread) -> float:
    """The pitch diameter d2 = d - 0.649519 P in mm. Source: ISO 724."""
    return thread.diameter - 0.649519 * thread.pitch


def stress_area(thread: Thread) -> float:
    """The stress area As = π/4 ((d2 + d3) / 2)² in mm², with the root diameter d3 = d - 1.226869 P.

    Source: ISO 898-1:2013, 9.1.6.
    """
    root = thread.diameter - 1.226869 * thread.pitch
    return pi / 4 * ((pitch_diameter(thread) + root) / 2) ** 2


def proof_load(thread: Thread, grade: str) -> float | None:
    """The load As · Sp in N that a bolt of the property class `grade` bears without lasting stretch.

    None for a class not known. Source: ISO 898-1:2013, tables 3 and 5.
    """
    stress = PROOF_STRESS.get(grade.upper())
    if stress is None:
        return None
    if grade == "8.8" and thread.diameter > 16:
        stress = PROOF_STRESS_8_8_THICK
    return stress_area(thread) * stress


def preload(torque: float, diameter: float, factor: float = NUT_FACTOR) -> float:
    """The pull in N that `torque` N·m gives a bolt of `diameter` mm: F = T / (K d), the short form.

    K hides the friction: the pull lies between those at 0.30 and 0.15, a factor of two.
    """
    return torque / (factor * diameter / 1000)


class Strain(NamedTuple):
    """How far a torque would stretch a bolt."""

    load: float  # the bolt's proof load in N
    likely: float  # share of it at K = 0.20
    least: float  # share of it at K = 0.30, whatever the friction

    @property
    def certain(self) -> bool:
        """Whether the proof load is exceeded even with the highest friction."""
        return self.least > 1

    @property
    def probable(self) -> bool:
        """Whether it is exceeded with the usual friction."""
        return self.likely > 1


@lru_cache(maxsize=4096)
def strain(torque: float, size: str, grade: str) -> Strain | None:
    """What `torque` N·m does to a bolt such as `M8` of class `8.8`; None for a size or class not known.

    Without a class it is held against the strongest one, so that what exceeds it can be meant for no
    bolt of that size.
    """
    bolt = thread(size)
    load = proof_load(bolt, grade or STRONGEST) if bolt is not None else None
    if bolt is None or load is None:
        return None
    likely = preload(torque, bolt.diameter)
    least = preload(torque, bolt.diameter, NUT_FACTOR_HIGH)
    return Strain(load, likely / load, least / load)


def torque_at(load: float, size: str, factor: float = NUT_FACTOR) -> float:
    """The torque in N·m that gives a bolt such as `M8` a pull of `load` N: T = K d F; 0 for no such size."""
    bolt = thread(size)
    return factor * bolt.diameter / 1000 * load if bolt is not None else 0.0


def torque_left(before: float, check: float) -> float:
    """The share 1 - check / before that a joint cannot have kept when it moved at `check`, both in one unit.

    0 where `before` is not above 0 (common practice, no source).
    """
    return 1 - check / before if before > 0 else 0.0

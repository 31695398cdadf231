"""Coulombic and energy efficiency, refused where the two halves of the trial do not belong together."""

from typing import NamedTuple

SAME_STATE = 0.02
"""Charge out and charge in may differ by this share of the larger, else the battery did not end in the
state of charge in which it began (team assumption: losses of lithium cells in one cycle are below it)."""


class Efficiency(NamedTuple):
    """Both as shares of 1, or None and why not."""

    energy: float | None
    coulombic: float | None
    refusal: str = ""


class Charges(NamedTuple):
    """What went out and in, in Ah, and what the two together may be off by; None for what is not known."""

    out: float | None = None
    into: float | None = None
    off: float = 0.0


NOT_LOGGED = Charges()
"""The charges of a file that has no column for them."""


def round_trip(
    energy_out: float | None,
    energy_in: float | None,
    charges: Charges = NOT_LOGGED,
    auxiliary: float = 0.0,
    soc: tuple[float, float] | None = None,
) -> Efficiency:
    """Net energy given over the energy that brings back the first state of charge (ISO 12405-4:2018, 3.11).

    Energies in Wh; `auxiliary` is the energy in Wh that the system itself took meanwhile and that counts as
    put in, `soc` the first and last state of charge as shares of 1. More out than in, or another state of
    charge at the end than at the beginning, makes a share that means nothing: it is refused.
    """
    if not energy_out or not energy_in:
        return Efficiency(None, None, "the file does not hold both a charge and a discharge")
    if soc is not None and abs(soc[1] - soc[0]) > SAME_STATE:
        began, ended = soc[0] * 100, soc[1] * 100
        return Efficiency(None, None, f"it began at {began:.3g} % and ended at {ended:.3g} % state of charge")
    taken = energy_in + auxiliary
    if energy_out > taken:
        message = (
            f"{energy_out:.4g} Wh came out and {taken:.4g} Wh went in: the start and the end state differ"
        )
        return Efficiency(None, None, message)
    charge_out, charge_in, off = charges
    if charge_out is None or not charge_in:
        return Efficiency(energy_out / taken, None)
    apart = abs(charge_out - charge_in)
    if apart > SAME_STATE * max(charge_out, charge_in) + off:
        message = (
            f"{charge_out:.4g} Ah came out and {charge_in:.4g} Ah went in: the start and the end state differ"
        )
        return Efficiency(None, None, message)
    if charge_out > charge_in + off:
        return Efficiency(energy_out / taken, None, "more charge came out than went in")
    return Efficiency(energy_out / taken, charge_out / charge_in)

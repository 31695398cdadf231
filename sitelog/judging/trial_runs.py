"""Which run of a logger's file an entry is about, and from and to which state of charge it went."""

from __future__ import annotations

from decimal import Decimal

from sitelog.base.frozen import NamedTuple
from sitelog.files.trials.results import HalfCycle, Trial
from sitelog.files.trials.survey import mode_of
from sitelog.language.kinds.electric import Series
from sitelog.notation.quantities import Quantity

_SHOWN_TO = Decimal("0.01")
"""Equipment shows its state of charge in whole per cent where nothing else is known (team assumption)."""

_APART = Decimal("0.02")  # the log and the file may differ so much about a state of charge


class ChargeSpan(NamedTuple):
    """A change of the state of charge, as a share; `off` is what both ends together may be off by."""

    start: Decimal
    stop: Decimal
    off: Decimal

    @property
    def width(self) -> Decimal:
        """How far it went, whichever way."""
        return abs(self.stop - self.start)

    @property
    def words(self) -> str:
        """`from 92 % to 44 %`."""
        return f"from {(self.start * 100).normalize():f} % to {(self.stop * 100).normalize():f} %"


def run_of(what: str, trial: Trial, record: Series | None = None) -> HalfCycle | None:
    """The run that a trial is about; two runs with another between are never added up.

    It is the only one that goes from and to the states of charge that the log gives, where the file tells
    them; else the largest discharge, or charge where the log calls it so.
    """
    way = mode_of(what)
    largest = (trial.out if way == "out" else trial.into) if way else trial.out or trial.into
    if largest is None or record is None or record.start is None or record.stop is None:
        return largest
    start, stop = float(record.start.base), float(record.stop.base)
    fitting = [
        run
        for run in trial.runs
        if run.direction == largest.direction
        and run.start_soc is not None
        and run.end_soc is not None
        and max(abs(run.start_soc - start), abs(run.end_soc - stop)) <= _APART
    ]
    return fitting[0] if len(fitting) == 1 else largest


_AS_LARGE = 0.5
"""A run of at least this share of the largest could be the one that is meant (team assumption)."""


def other_runs(trial: Trial, run: HalfCycle) -> list[HalfCycle]:
    """The other runs of the same direction that could be meant as well."""

    def size(some: HalfCycle) -> float:
        return some.charge if some.charge is not None else some.energy or 0.0

    return [
        other
        for other in trial.runs
        if other != run and other.direction == run.direction and size(other) >= _AS_LARGE * size(run)
    ]


def span_of(record: Series, run: HalfCycle | None) -> ChargeSpan | None:
    """The states of charge of a run: as the log says, else as the file does."""
    if record.start is not None and record.stop is not None:
        return ChargeSpan(
            record.start.base, record.stop.base, _last_digit(record.start) + _last_digit(record.stop)
        )
    if run is None or run.start_soc is None or run.end_soc is None:
        return None
    start, stop = (Decimal(f"{soc:.6f}") for soc in (run.start_soc, run.end_soc))
    return ChargeSpan(start, stop, _SHOWN_TO)


def _last_digit(q: Quantity) -> Decimal:
    """Half of the last digit written, as a share: 92 % is anything from 91.5 % to 92.5 %."""
    exponent = q.number.as_tuple().exponent
    step = Decimal(1).scaleb(exponent) if isinstance(exponent, int) else Decimal(1)
    return (step / 100 if q.unit == "%" else step) / 2


def wrong_span(span: ChargeSpan, run: HalfCycle) -> str:
    """Why a run cannot have gone over a span; empty where it can."""
    if not span.width:
        return f"the state of charge did not change {span.words}"
    if (span.stop < span.start) != (run.direction == "out"):
        what = "discharge" if run.direction == "out" else "charge"
        return f"a {what} cannot go {span.words}"
    if run.start_soc is not None and run.end_soc is not None:
        apart = max(
            abs(span.start - Decimal(f"{run.start_soc:.4f}")), abs(span.stop - Decimal(f"{run.end_soc:.4f}"))
        )
        if apart > _APART:
            filed = f"from {run.start_soc * 100:.3g} % to {run.end_soc * 100:.3g} %"
            return f"the log says {span.words}, the file {filed}"
    return ""

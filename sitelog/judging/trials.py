"""A trial against its sheet: what the logger's file gave, scaled to the state of charge that is asked."""

from __future__ import annotations

from decimal import Decimal

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import Reason
from sitelog.files.trials.efficiency import Charges, Efficiency, round_trip
from sitelog.files.trials.results import HalfCycle, Trial, TrialFault
from sitelog.files.trials.survey import mode_of
from sitelog.judging.limits import against, describe
from sitelog.judging.rule import Outcome, RuleContext
from sitelog.judging.site import Observation
from sitelog.language.kinds.electric import Series
from sitelog.language.kinds.requirement import Limits, Requirement
from sitelog.notation.quantities import KINDS, Quantity, convert, find_unit, format_quantity

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


def run_of(what: str, trial: Trial) -> HalfCycle | None:
    """The run that a trial is about: its largest discharge, or charge where the log calls it so."""
    way = mode_of(what)
    if way:
        return trial.out if way == "out" else trial.into
    return trial.out or trial.into


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


def efficiency_of(record: Series, trial: Trial) -> Efficiency:
    """Both efficiencies of a file, or why there are none."""
    if trial.gaps.any:
        return Efficiency(None, None, "the record has gaps")
    soc = trial.soc
    if record.start is not None and record.stop is not None:
        soc = float(record.start.base), float(record.stop.base)
    return round_trip(
        trial.energy_out,
        trial.energy_in,
        Charges(trial.charge_out, trial.charge_in, trial.half_charge),
        trial.auxiliary,
        soc,
    )


def quantity(kind: str, base: float, unit: str = "") -> Quantity:
    """A computed value of a kind, to six digits, in `unit` or in the kind's base unit."""
    unit = unit or KINDS[kind] or "%"
    exact = Decimal(f"{base:.6g}")
    number = convert(Quantity(exact, KINDS[kind], kind, exact), unit)
    assert isinstance(number, Decimal)
    found = find_unit(unit)
    rounded = Decimal(f"{float(number):.6g}")
    return Quantity(rounded, getattr(found, "normal", unit), kind, exact)


def judge_series(requirement: Requirement, obs: Observation, context: RuleContext) -> Outcome:
    """Each item that the sheet asks of a trial, and what is uncertain about the file as a whole."""
    record, found = obs.record, context.trial(obs)
    assert isinstance(record, Series)
    if found is None or isinstance(found, TrialFault):
        # What is the matter with the file is said once, where it stands: see the workspace.
        why = found.message if found is not None else "it was not read"
        absent = found is not None and found.absent
        return Outcome(
            (Reason("missing" if absent else "doubtful", "", f"{requirement.what}: {obs.word}: {why}"),)
        )
    reasons: list[Reason] = []
    margins: list[float] = []
    for name, limits in requirement.items:
        more, margin = _item(requirement, name, limits, record, found)
        reasons += more
        if margin is not None:
            margins.append(margin)
    run = run_of(requirement.what, found)
    if run is None:
        reasons.append(
            _doubt(
                f"{requirement.what}: {obs.word} holds no {requirement.what}", "name the file of this trial"
            )
        )
    elif run.broken:
        reasons.append(
            _doubt(f"{requirement.what}: {gaps_in_words(found)}", "log the trial again without a pause")
        )
    if found.assumed:
        taken = ", ".join(found.assumed)
        message = f"{requirement.what}: the header of {obs.word} leaves units unsaid; taken were {taken}"
        reasons.append(_doubt(message, "write the units into the header, for example `Current [A]`"))
    return Outcome(tuple(dict.fromkeys(reasons)), margin=min(margins, default=None))


def _doubt(message: str, help: str = "") -> Reason:
    return Reason("doubtful", "doubtful", message, help)


def gaps_in_words(trial: Trial) -> str:
    """How many gaps a record has, and how long; empty where it has none."""
    gaps, parts = trial.gaps, []
    if gaps.found:
        many = f"{gaps.found} gaps, {gaps.seconds:.6g} s in all, the longest" if gaps.found > 1 else "a gap"
        parts.append(f"{many} of {gaps.longest:.6g} s before line {gaps.line}")
    if gaps.resets:
        many = f"begins again {gaps.resets} times, first" if gaps.resets > 1 else "begins again"
        parts.append(f"a record that {many} in line {gaps.reset_line}")
    return f"{trial.file} has {' and '.join(parts)}; nothing was added up across" if parts else ""


class _Value(NamedTuple):
    """A value for one side of an item's limits, how far it may be off, and what it is in words."""

    base: float
    off: float
    about: str
    scaled: bool = False


_SUMS = ("energy", "charge", "capacity")


def _item(
    requirement: Requirement, name: str, limits: Limits, record: Series, trial: Trial
) -> tuple[list[Reason], float | None]:
    """One item against its limits."""
    about = f"{requirement.what} {name}"
    asked = limits.low or limits.high
    if asked is None:
        return [], None
    value = _value(requirement, name, limits, record, trial)
    if isinstance(value, str):
        return [_doubt(f"{about}: {value}")], None
    q = quantity(asked.kind, value.base, asked.unit)
    if name in _SUMS and trial.gaps.any:
        q = q._replace(bound=">")  # what flowed in a gap is not in the sum
    found = against("series", q, limits, None, 0.0, value.about)
    if found.reasons or not value.off:
        return list(found.reasons), found.margin
    low, high = (float(limit.base) if limit is not None else None for limit in (limits.low, limits.high))
    if (low is not None and value.base - value.off < low) or (
        high is not None and value.base + value.off > high
    ):
        off = quantity(asked.kind, float(f"{value.off:.2g}"), asked.unit)
        why = (
            "the state of charge is only known to its last digit"
            if value.scaled
            else "the logger's steps are long"
        )
        message = f"{value.about} {format_quantity(q)} may be off by {format_quantity(off)}, since {why}"
        return [_doubt(f"{message}; asked is {describe(limits)}")], found.margin
    return [], found.margin


def _value(requirement: Requirement, name: str, limits: Limits, record: Series, trial: Trial) -> _Value | str:
    """What an item is held against, or why there is none."""
    about = f"{requirement.what} {name}"
    if name in _SUMS:
        return _sum(requirement, name, limits, record, trial)
    if name == "efficiency":
        shares = efficiency_of(record, trial)
        return (
            _Value(shares.energy, 0.0, about)
            if shares.energy is not None
            else f"none, since {shares.refusal}"
        )
    if name == "spread":
        kind = limits.kind
        apart = trial.temperature_spread if kind == "temperature" else trial.spread
        return (
            _Value(apart, 0.0, f"{about} of cells")
            if apart is not None
            else "the file has no column per cell"
        )
    if name == "current":
        return _Value(trial.current, 0.0, about) if trial.current is not None else "the file has no current"
    course = trial.temperature if name == "temperature" else trial.voltage if name == "voltage" else None
    if course is None:
        return f"the file has no {name}"
    at_least = limits.low is not None
    return _Value(
        course.low if at_least else course.high, 0.0, f"{'lowest' if at_least else 'highest'} {about}"
    )


def _sum(requirement: Requirement, name: str, limits: Limits, record: Series, trial: Trial) -> _Value | str:
    """The energy or charge of the run, scaled where the sheet asks it per share of the state of charge."""
    about = f"{requirement.what} {name}"
    run = run_of(requirement.what, trial)
    if run is None:
        return f"the file holds no {requirement.what}"
    whole, off = (run.energy, run.half_energy) if name == "energy" else (run.charge, run.half_charge)
    if whole is None:
        return (
            "the file has no current with a voltage, and no power"
            if name == "energy"
            else "the file has no current"
        )
    if limits.per is None:
        return _Value(whole, off, about)
    span = span_of(record, run)
    if span is None:
        return (
            f"asked per {format_quantity(limits.per)}; the log does not say from and to which state of charge"
        )
    if problem := _wrong_span(span, run):
        return problem
    scale = float(limits.per.base / span.width)
    # The narrower of the spans that the digits allow makes the larger difference.
    off = off * scale + whole * scale * float(span.off / max(span.width - span.off, span.off))
    written = quantity(
        "energy" if name == "energy" else "charge", whole, (limits.low or limits.high or limits.per).unit
    )
    words = f"{about} ({format_quantity(written)} {span.words}, scaled to {format_quantity(limits.per)})"
    return _Value(whole * scale, off, words, True)


def _wrong_span(span: ChargeSpan, run: HalfCycle) -> str:
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


# ---- figures for a table -------------------------------------------------------------------------------
def figures_of(
    requirement: Requirement | None, obs: Observation, trial: Trial | TrialFault
) -> dict[str, object]:
    """The columns of the `series` subject that a file gives; none where it could not be read."""
    record = obs.record
    assert isinstance(record, Series)
    if isinstance(trial, TrialFault):
        return {}
    run = run_of(obs.what, trial)
    span = span_of(record, run)
    wrong = span is None or run is None or bool(_wrong_span(span, run))
    per = (
        next((limits.per for _, limits in requirement.items if limits.per is not None), None)
        if requirement is not None
        else None
    )
    capacity = None
    if span is not None and run is not None and run.energy is not None and not wrong:
        capacity = run.energy * float((per.base if per is not None else 1) / span.width)
    shares = efficiency_of(record, trial)
    return {
        "energy": _cell("energy", run.energy if run is not None else None),
        "charge": _cell("charge", run.charge if run is not None else None),
        "capacity": _cell("energy", capacity),
        "soc_start": float(span.start) if span is not None else None,
        "soc_stop": float(span.stop) if span is not None else None,
        "efficiency": shares.energy,
        "coulombic": shares.coulombic,
        "temperature": _cell(
            "temperature", trial.temperature.mean if trial.temperature is not None else None
        ),
        "voltage_start": _cell("voltage", run.start_voltage if run is not None else None),
        "voltage_stop": _cell("voltage", run.end_voltage if run is not None else None),
        "spread": _cell("voltage", trial.spread),
        "duration": _cell("time", run.seconds if run is not None else None),
        "runs": trial.discharges + trial.charges,
        "gaps": trial.gaps.found + trial.gaps.resets,
        "basis": _basis(trial, None if wrong else span, per, shares),
    }


def _cell(kind: str, value: float | None) -> Quantity | None:
    """A figure as shown: five digits, energies from 1 kWh in kWh."""
    if value is None:
        return None
    unit = "kWh" if kind == "energy" and abs(value) >= 1000 else ""
    q = quantity(kind, value, unit)
    return q._replace(number=Decimal(f"{float(q.number):.5g}"))


def _basis(trial: Trial, span: ChargeSpan | None, per: Quantity | None, shares: Efficiency) -> str:
    """What the figures rest on, in words."""
    parts = [f"trapezoids between {trial.rows} rows", trial.direction]
    if span is not None:
        target = format_quantity(per) if per is not None else "100 %"
        parts.append(f"capacity scaled {span.words} to {target}")
    runs = trial.discharges if trial.out is not None else trial.charges
    if runs > 1:
        parts.append(f"the largest of {runs} runs")
    if trial.gaps.any:
        parts.append(gaps_in_words(trial))
    if shares.refusal and trial.energy_in and trial.energy_out:
        parts.append(f"no efficiency: {shares.refusal}" if shares.energy is None else shares.refusal)
    if trial.assumed:
        parts.append("units taken for granted: " + ", ".join(trial.assumed))
    return "; ".join((*parts, *trial.notes))

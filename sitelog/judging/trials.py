"""A trial against its sheet: what the logger's file gave, scaled to the state of charge that is asked."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from sitelog.base.frozen import NamedTuple
from sitelog.base.verdicts import Reason
from sitelog.files.trials.efficiency import Charges, Efficiency, round_trip
from sitelog.files.trials.results import HalfCycle, Trial, TrialFault
from sitelog.judging.limits import against, describe
from sitelog.judging.rule import Outcome, RuleContext
from sitelog.judging.site import Observation
from sitelog.judging.trial_runs import other_runs, run_of, span_of, wrong_span
from sitelog.language.kinds.electric import Series
from sitelog.language.kinds.requirement import Limits, Requirement
from sitelog.notation.quantities import KINDS, Quantity, convert, find_unit, format_quantity


def efficiency_of(record: Series, trial: Trial) -> Efficiency:
    """Both efficiencies of a file, or why there are none."""
    if trial.gaps.any:
        return Efficiency(None, None, "the record has gaps")
    if trial.faults:
        return Efficiency(None, None, "the record has rows that cannot be right")
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
    run = run_of(requirement.what, found, record)
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
    if found.faults and any(name in _SUMS or name == "efficiency" for name, _ in requirement.items):
        help = "nothing is summed across these rows: put the logger right and log the trial again"
        reasons.append(_doubt(f"{requirement.what}: {faults_in_words(found)}", help))
    if reason := _another_day(requirement, obs, found, context):
        reasons.append(reason)
    if found.assumed:
        taken = ", ".join(found.assumed)
        message = f"{requirement.what}: the header of {obs.word} leaves units unsaid; taken were {taken}"
        reasons.append(_doubt(message, "write the units into the header, for example `Current [A]`"))
    return Outcome(tuple(dict.fromkeys(reasons)), margin=min(margins, default=None))


def _doubt(message: str, help: str = "") -> Reason:
    return Reason("doubtful", "doubtful", message, help)


def _another_day(
    requirement: Requirement, obs: Observation, trial: Trial, context: RuleContext
) -> Reason | None:
    """A trial is evidence of its entry only where it was logged then.

    From the day before the entry above it in the same visit until the day after its own: a clock may run in
    another zone, and a trial may run over midnight. Without dates in the file nothing is known, which the
    basis says.
    """
    if trial.days is None or obs.moment.day is None:
        return None
    first = min(context.day_above(obs) or obs.moment.day, obs.moment.day)
    began, ended = trial.days
    if first - timedelta(days=1) <= began and ended <= obs.moment.day + timedelta(days=1):
        return None
    when = str(began) if began == ended else f"{began} to {ended}"
    message = f"{requirement.what}: {obs.word} was logged on {when}, its entry stands on {obs.moment.day}"
    return _doubt(message, "name the file of this trial, or set the logger's clock")


def faults_in_words(trial: Trial) -> str:
    """The rows of a file that cannot be right; empty where there are none."""
    parts = [
        f"{fault.message} in line{'s' if fault.last_line > fault.first_line else ''} {fault.first_line}"
        + (f" to {fault.last_line}" if fault.last_line > fault.first_line else "")
        for fault in trial.faults[:3]
    ]
    more = f"; and {len(trial.faults) - 3} faults more" if len(trial.faults) > 3 else ""
    return f"{trial.file}: {'; '.join(parts)}{more}"


_EMPTY = 0.1
"""A column that is empty in more than this share of the rows leaves its extremes open (team assumption)."""


def _too_empty(trial: Trial, role: str) -> str:
    """Why a quantity's least and greatest are not known; empty where they are."""
    for found, column, share, line in trial.empty:
        if found == role and share > _EMPTY:
            return f"the column `{column}` is empty in {share * 100:.2g} % of the rows, first in line {line}"
    return ""


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
    run = run_of(requirement.what, trial, record)
    if name in _SUMS and run is not None:
        more, margin = _judged(requirement, name, limits, record, trial, run)
        verdicts = {tuple(reason.slug for reason in more)}
        others = other_runs(trial, run)
        for other in others:
            found, _ = _judged(requirement, name, limits, record, trial, other)
            verdicts.add(tuple(reason.slug for reason in found))
        if len(verdicts) > 1:
            lines = ", ".join(f"{other.first_line} to {other.last_line}" for other in others)
            message = f"{about}: other runs as large stand in lines {lines}, and would be judged otherwise"
            more = [*more, _doubt(message, "log the run that is meant in a file of its own")]
        return more, margin
    return _judged(requirement, name, limits, record, trial, run)


def _judged(
    requirement: Requirement,
    name: str,
    limits: Limits,
    record: Series,
    trial: Trial,
    run: HalfCycle | None,
) -> tuple[list[Reason], float | None]:
    """One item of one run against its limits."""
    about = f"{requirement.what} {name}"
    asked = limits.low or limits.high
    assert asked is not None
    value = _value(requirement, name, limits, record, trial, run)
    if isinstance(value, str):
        return [_doubt(f"{about}: {value}")], None
    q = quantity(asked.kind, value.base, asked.unit)
    if name in _SUMS and (trial.gaps.any or trial.faults):
        q = q._replace(bound=">")  # what flowed in a gap or beside a fault is not in the sum
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


def _value(
    requirement: Requirement,
    name: str,
    limits: Limits,
    record: Series,
    trial: Trial,
    run: HalfCycle | None,
) -> _Value | str:
    """What an item is held against, or why there is none.

    A limit `at most` asks the greatest of all columns of its quantity over the whole file, `at least` the
    least. A current is nothing at rest and while it is switched: the least asked of it is held against its
    mean over the run.
    """
    about = f"{requirement.what} {name}"
    if name in _SUMS:
        return _sum(requirement, name, limits, record, trial, run)
    if name == "efficiency":
        shares = efficiency_of(record, trial)
        return (
            _Value(shares.energy, 0.0, about)
            if shares.energy is not None
            else f"none, since {shares.refusal}"
        )
    if name == "spread":
        kind = limits.kind
        if why := _too_empty(trial, "temperature" if kind == "temperature" else "cell"):
            return why
        apart = trial.temperature_spread if kind == "temperature" else trial.spread
        return (
            _Value(apart, 0.0, f"{about} of cells")
            if apart is not None
            else "the file has no column per cell"
        )
    if name == "current":
        if trial.current is None:
            return "the file has no current"
        if limits.low is None:
            return _Value(trial.current, 0.0, f"highest {about}")
        if run is None or not run.charge or not run.seconds:
            return f"the file holds no {requirement.what}"
        return _Value(run.charge * 3600 / run.seconds, 0.0, f"mean {about} over the run")
    course = trial.temperature if name == "temperature" else trial.voltage if name == "voltage" else None
    if course is None:
        return f"the file has no {name}" + (" of the battery" if name == "temperature" else "")
    if why := _too_empty(trial, name):
        return why
    at_least = limits.low is not None
    return _Value(
        course.low if at_least else course.high, 0.0, f"{'lowest' if at_least else 'highest'} {about}"
    )


def _sum(
    requirement: Requirement,
    name: str,
    limits: Limits,
    record: Series,
    trial: Trial,
    run: HalfCycle | None,
) -> _Value | str:
    """The energy or charge of the run, scaled where the sheet asks it per share of the state of charge."""
    about = f"{requirement.what} {name}"
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
    if problem := wrong_span(span, run):
        return problem
    scale = float(limits.per.base / span.width)
    # The narrower of the spans that the digits allow makes the larger difference.
    off = off * scale + whole * scale * float(span.off / max(span.width - span.off, span.off))
    written = quantity(
        "energy" if name == "energy" else "charge", whole, (limits.low or limits.high or limits.per).unit
    )
    words = f"{about} ({format_quantity(written)} {span.words}, scaled to {format_quantity(limits.per)})"
    return _Value(whole * scale, off, words, True)

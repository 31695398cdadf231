"""The figures of a trial as a table shows them, and in words what they rest on."""

from __future__ import annotations

from decimal import Decimal

from sitelog.files.trials.efficiency import Efficiency
from sitelog.files.trials.results import HalfCycle, Trial, TrialFault
from sitelog.judging.site import Observation
from sitelog.judging.trial_runs import ChargeSpan, run_of, span_of, wrong_span
from sitelog.judging.trials import efficiency_of, faults_in_words, gaps_in_words, quantity
from sitelog.language.kinds.electric import Series
from sitelog.language.kinds.requirement import Requirement
from sitelog.notation.quantities import Quantity, format_quantity


def figures_of(
    requirement: Requirement | None, obs: Observation, trial: Trial | TrialFault
) -> dict[str, object]:
    """The columns of the `series` subject that a file gives; none where it could not be read."""
    record = obs.record
    assert isinstance(record, Series)
    if isinstance(trial, TrialFault):
        return {}
    run = run_of(obs.what, trial, record)
    span = span_of(record, run)
    wrong = span is None or run is None or bool(wrong_span(span, run))
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
        "basis": _basis(trial, run, None if wrong else span, per, shares),
    }


def _cell(kind: str, value: float | None) -> Quantity | None:
    """A figure as shown: five digits, energies from 1 kWh in kWh."""
    if value is None:
        return None
    unit = "kWh" if kind == "energy" and abs(value) >= 1000 else ""
    q = quantity(kind, value, unit)
    return q._replace(number=Decimal(f"{float(q.number):.5g}"))


def _basis(
    trial: Trial, run: HalfCycle | None, span: ChargeSpan | None, per: Quantity | None, shares: Efficiency
) -> str:
    """What the figures rest on, in words: which columns, which rows, what was bridged and what was not."""
    columns = dict(trial.columns)
    sums = ", ".join(f"`{name}`" for name in columns.get("sums", ()))
    if trial.method == "counters":
        parts = [f"rises of the logger's own counters {sums} over {trial.rows} rows"]
    else:
        parts = [f"trapezoids between {trial.rows} rows of {sums}", trial.direction]
    if names := columns.get("temperature"):
        parts.append("temperature from " + ", ".join(f"`{name}`" for name in names))
    if names := columns.get("unused"):
        parts.append("not used: the counters " + ", ".join(f"`{name}`" for name in names))
    if span is not None:
        target = format_quantity(per) if per is not None else "100 %"
        parts.append(f"capacity scaled {span.words} to {target}")
    if run is not None:
        runs = trial.discharges if run.direction == "out" else trial.charges
        if runs > 1:
            parts.append(f"one of {runs} runs, in lines {run.first_line} to {run.last_line}")
    if trial.gaps.bridged and trial.seconds:
        share = trial.gaps.bridged / trial.seconds * 100
        parts.append(f"{share:.2g} % of the time bridged between rows up to 1.5 steps apart")
    if trial.gaps.any:
        parts.append(gaps_in_words(trial))
    if trial.faults:
        parts.append(faults_in_words(trial))
    if trial.days is None:
        parts.append("its times carry no date, so its day is not known")
    if shares.refusal and trial.energy_in and trial.energy_out:
        parts.append(f"no efficiency: {shares.refusal}" if shares.energy is None else shares.refusal)
    if trial.assumed:
        parts.append("units taken for granted: " + ", ".join(trial.assumed))
    return "; ".join((*parts, *trial.notes))

"""Voltage drop by a library that solves power networks, probabilities by one for statistics."""

from math import sqrt

import pytest
from power_grid_model import LoadGenType, PowerGridModel, initialize_array
from scipy.stats import norm

from sitelog.physics.conductors import metric, voltage_drop
from sitelog.physics.uncertainty import conformance


def _solved(ohm: float, reactance: float, volts: float, current: float, cos_phi: float) -> float:
    """The drop in V between lines of a line with a load of steady current at its end, in V between lines."""
    node = initialize_array("input", "node", 2)
    node["id"], node["u_rated"] = [1, 2], [volts, volts]
    line = initialize_array("input", "line", 1)
    line["id"], line["from_node"], line["to_node"], line["from_status"], line["to_status"] = 3, 1, 2, 1, 1
    line["r1"], line["x1"], line["c1"], line["tan1"] = ohm, reactance, 0.0, 0.0
    source = initialize_array("input", "source", 1)
    source["id"], source["node"], source["status"], source["u_ref"], source["sk"] = 4, 1, 1, 1.0, 1e15
    load = initialize_array("input", "sym_load", 1)
    load["id"], load["node"], load["status"], load["type"] = 5, 2, 1, LoadGenType.const_current
    power = sqrt(3) * volts * current
    load["p_specified"], load["q_specified"] = power * cos_phi, power * sqrt(1 - cos_phi * cos_phi)
    network = PowerGridModel({"node": node, "line": line, "source": source, "sym_load": load})
    ends = network.calculate_power_flow(error_tolerance=1e-12)["node"]["u"]
    return float(ends[0] - ends[1])


@pytest.mark.parametrize(
    ("size", "length", "current", "volts", "system", "cos_phi"),
    [
        (6, 4.5, 20, 307, "dc", 1.0),
        (2.5, 30, 16, 230, "1ph", 0.95),
        (16, 50, 63, 400, "3ph", 0.8),
        (35, 40, 100, 400, "3ph", 1.0),
    ],
)
def test_voltage_drop_as_a_network_is_solved(
    size: float, length: float, current: float, volts: float, system: str, cos_phi: float
) -> None:
    """Recomputed with power-grid-model. Annex G of IEC 60364-5-52 leaves the angle between the ends out,
    which is in the second order: less than 1 % of the drop here.
    """
    ohm = metric(size, "copper", "2", 70.0).ohm
    there = 1 if system == "3ph" else 2  # there and back
    reactance = 0.0 if system == "dc" else 0.08e-3
    between = volts if system == "3ph" else volts * sqrt(3)
    solved = _solved(there * ohm * length, there * reactance * length, between, current, cos_phi)
    drop = solved if system == "3ph" else solved / sqrt(3)
    assert voltage_drop(ohm, length, current, system, cos_phi) == pytest.approx(drop, rel=0.01)


@pytest.mark.parametrize("value", [9.8, 10.79, 10.8, 11.5, 12.0, 13.1, 13.2, 14.0])
@pytest.mark.parametrize(("low", "high"), [(10.8, 13.2), (10.8, None), (None, 13.2)])
def test_conformance_by_a_statistics_library(value: float, low: float | None, high: float | None) -> None:
    """JCGM 106:2012, 7.3 and 7.4: P = Φ((H-y)/u) - Φ((L-y)/u), recomputed with scipy."""
    u = 0.28
    above = norm.cdf(high, loc=value, scale=u) if high is not None else 1.0
    below = norm.cdf(low, loc=value, scale=u) if low is not None else 0.0
    assert conformance(value, u, low, high) == pytest.approx(above - below, abs=1e-12)

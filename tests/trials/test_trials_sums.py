"""Sums and shares by definition, with what the figures were worked out by beside them."""

import os
import random
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitelog.files.trials.efficiency import Charges, round_trip
from sitelog.files.trials.reading import read_trial
from sitelog.files.trials.results import Trial
from sitelog.files.trials.sums import areas
from tests.trials.writing import table, trial


def test_even_steps(tmp_path: Path) -> None:
    """50 A for an hour; the sums of the left and of the right ends are its brackets.

    50.000 Ah, 2620.417 Wh, left 2639.167, right 2601.667: definition, recomputed with scipy 1.17.1.
    """
    volts = [54.0, 53.4, 53.0, 52.6, 52.2, 51.5, 49.5]
    found = trial(
        tmp_path, table("time [s],current [A],voltage [V]", [(600 * k, -50, v) for k, v in enumerate(volts)])
    )
    assert found.out is not None
    assert found.out.charge == pytest.approx(50.0, abs=1e-9)
    assert found.out.energy == pytest.approx(2620.417, abs=0.001)
    assert found.out.energy + found.out.half_energy == pytest.approx(2639.167, abs=0.001)
    assert found.out.energy - found.out.half_energy == pytest.approx(2601.667, abs=0.001)
    assert found.out.half_charge == 0
    assert (found.out.start_voltage, found.out.end_voltage) == (54.0, 49.5)
    assert found.seconds == 3600


def test_uneven_steps(tmp_path: Path) -> None:
    """0, 3000, 3000, 0 W at 0, 60, 300, 600 s are 350 Wh: recomputed with scipy 1.17.1."""
    rows = [(0, 0), (60, 3000), (300, 3000), (600, 0)]
    found = trial(tmp_path, table("time [s],power [W]", rows), "discharge")
    assert found.energy_out == pytest.approx(350.0, abs=1e-9)
    assert found.charge_out is None
    assert found.direction == "positive discharges, since the log calls the trial so"


def test_a_line_through_zero_goes_both_ways() -> None:
    """Two triangles, by hand: from +2 to -4 over 1 h, 2 x 1/3 h / 2 above and 4 x 2/3 h / 2 below."""
    assert areas(2.0, -4.0, 3600.0) == pytest.approx((1 / 3, 4 / 3))
    assert areas(-4.0, 2.0, 3600.0) == pytest.approx((1 / 3, 4 / 3))
    assert areas(0.0, 0.0, 3600.0) == (0.0, 0.0)


# ---- shares ----------------------------------------------------------------------------------------------
def test_round_trip_by_its_definition() -> None:
    """ISO 12405-4:2018, 3.11: out over in. 100 kWh in and 80 kWh out are 80 %, a glossary's example."""
    assert round_trip(80_000, 100_000).energy == pytest.approx(0.80)
    assert round_trip(4.781, 5.184).energy == pytest.approx(0.92226, abs=1e-5)


def test_round_trip_is_not_upside_down() -> None:
    """An evaluation method of the US DOE defines discharged over charged and prints `kWh in / kWh out` by it.

    The bracket is the wrong one of the two: it would make 125 % of 80 %.
    """
    energy = round_trip(80, 100).energy
    assert energy is not None
    assert energy < 1
    assert energy != pytest.approx(100 / 80)


@pytest.mark.parametrize(
    ("out", "into", "auxiliary", "right", "printed"),
    [
        (8.50, 10.00, 0.10, 84.16, None),  # the table's third row is right
        (11.10, 12.50, 0.20, 87.40, 87.30),
        (21.9, 25.0, 0.9, 84.56, 84.88),
    ],
)
def test_auxiliaries_count_as_put_in(
    out: float, into: float, auxiliary: float, right: float, printed: float | None
) -> None:
    """A public worked table of round trips: two of its rows are printed wrong and must not come out so."""
    energy = round_trip(out, into, auxiliary=auxiliary).energy
    assert energy is not None
    assert round(energy * 100, 2) == right
    assert printed is None or abs(energy * 100 - printed) > 0.05


def test_other_states_of_charge_make_no_share() -> None:
    """2.500 Wh in and 4.758 Wh out: cycle 1 of a cell that began half charged (public battery archive)."""
    shares = round_trip(4.758, 2.500, Charges(1.292, 0.604))
    assert (shares.energy, shares.coulombic) == (None, None)
    assert "differ" in shares.refusal
    assert round_trip(4.5, 5.0, soc=(0.5, 0.9)).energy is None
    assert round_trip(4.5, 5.0, soc=(0.5, 0.51)).energy == pytest.approx(0.9)
    assert round_trip(0.0, 5.0).energy is None


def test_over_one_within_what_the_steps_leave_open() -> None:
    """More charge out than in is allowed as far as the sums may be off, and no further (definition)."""
    assert round_trip(4.0, 5.0, Charges(1.001, 1.000, 0.002)).coulombic == pytest.approx(1.001)
    beyond = round_trip(4.0, 5.0, Charges(1.010, 1.000, 0.002))
    assert (beyond.energy, beyond.coulombic) == (0.8, None)
    assert beyond.refusal


def test_a_whole_cycle_with_auxiliaries(tmp_path: Path) -> None:
    """1 h in at 10 A and 54 V, 1 h out at 10 A and 50 V, 20 W beside: 500 / (540 + 40) Wh, by hand."""
    rows = [
        (t, 10 if t <= 3600 else -10, 54 if t <= 3600 else 50, 20)
        for t in (*range(0, 3601, 10), *range(3601, 7202, 10))
    ]
    found = trial(tmp_path, table("time [s],current [A],voltage [V],auxiliary power [W]", rows), "trial")
    assert found.auxiliary == pytest.approx(40, rel=0.001)
    shares = round_trip(
        found.energy_out,
        found.energy_in,
        Charges(found.charge_out, found.charge_in, found.half_charge),
        found.auxiliary,
    )
    assert shares.energy == pytest.approx(500 / 580, rel=0.001)
    assert shares.coulombic == pytest.approx(1.0, rel=0.001)


# ---- properties -------------------------------------------------------------------------------------------
_CURRENTS = st.lists(st.integers(-80, -1), min_size=2, max_size=40)


@settings(max_examples=60, deadline=None)
@given(_CURRENTS, st.integers(1, 600))
def test_the_sum_lies_between_the_ends_of_every_step(
    tmp_path_factory: pytest.TempPathFactory, currents: list[int], step: int
) -> None:
    """A trapezoid lies between the rectangles of its ends; so does a sum of them (definition)."""
    folder = tmp_path_factory.mktemp("sum")
    rows = [(step * k, i, 50) for k, i in enumerate(currents)]
    run = trial(folder, table("time [s],current [A],voltage [V]", rows), "discharge").out
    assert run is not None
    assert run.charge is not None
    pairs = list(pairwise(currents))
    least = sum(min(-a, -b) for a, b in pairs) * step / 3600
    most = sum(max(-a, -b) for a, b in pairs) * step / 3600
    assert least - 1e-9 <= run.charge <= most + 1e-9
    assert run.charge - run.half_charge == pytest.approx(least)
    assert run.charge + run.half_charge == pytest.approx(most)
    assert run.energy == pytest.approx(50 * run.charge)


@settings(max_examples=40, deadline=None)
@given(
    _CURRENTS,
    st.sampled_from([("mA", 1000), ("A", 1), ("kA", 0.001)]),
    st.sampled_from([("ms", 1000), ("min", 1 / 60)]),
)
def test_units_and_sign_change_nothing(
    tmp_path_factory: pytest.TempPathFactory,
    currents: list[int],
    amperes: tuple[str, float],
    seconds: tuple[str, float],
) -> None:
    """A trial in other units and with the other sign of current gives the same charge (SI prefixes)."""
    folder = tmp_path_factory.mktemp("units")
    volts = [54 - k / 10 + i / 5 for k, i in enumerate(currents)]  # 0.2 ohm
    plain = [(60 * k, i, v) for k, (i, v) in enumerate(zip(currents, volts, strict=True))]
    scaled = [(t * seconds[1], -i * amperes[1], v * 1000) for t, i, v in plain]
    one = trial(folder, table("time [s],current [A],voltage [V]", plain), "discharge").out
    other = trial(
        folder, table(f"time [{seconds[0]}];current ({amperes[0]});voltage_mv", scaled, ";"), "discharge"
    ).out
    assert one is not None
    assert other is not None
    assert other.charge == pytest.approx(one.charge)
    assert other.energy == pytest.approx(one.energy)


@settings(max_examples=150, deadline=None)
@given(st.text(st.sampled_from('0123456789.,;:-+eE \t\n\r"#|/[]()\x00\x1b\ufeffTZµ°'), max_size=200))
def test_no_text_makes_it_raise(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    """Whatever stands below a header, there is an answer, and nothing in it that could move a cursor."""
    path = tmp_path_factory.mktemp("any") / "trial.csv"
    path.write_bytes(("time [s],current [A],voltage [V]\n0,-1,50\n1,-1,50\n" + text).encode())
    found = read_trial(str(path), "discharge")
    assert isinstance(found, Trial) or (found.message and found.message.isprintable())


_MEASURE = """
import resource, sys
from sitelog.files.trials.reading import read_trial
def megabytes():
    kilobytes = sys.platform != "darwin"
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if kilobytes else 1024 ** 2)
before = megabytes()
found = read_trial(sys.argv[1], "discharge")
print(found.rows, round(found.out.charge, 3), megabytes() - before)
"""


ROWS = int(os.environ.get("SITELOG_TEST_ROWS", "200000"))
"""A million for the full measure, which takes a minute; no row is kept, so a part of them shows as much."""


def test_many_rows_in_little_memory(tmp_path: Path) -> None:
    """A second at 36 A is 0.01 Ah (definition), and the process grows by no more than for a short file."""
    path = tmp_path / "long.csv"
    noise = random.Random(1)
    with path.open("w") as stream:
        stream.write("time [s],current [A],voltage [V]\n")
        for start in range(0, ROWS + 1, 1000):
            end = min(start + 1000, ROWS + 1)
            stream.writelines(
                f"{t},-36.0,{52 - t / 1e6 + noise.random() / 100:.3f}\n" for t in range(start, end)
            )
    done = subprocess.run(
        [sys.executable, "-c", _MEASURE, str(path)], capture_output=True, text=True, check=True,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip
    rows, charge, grown = done.stdout.split()
    assert (int(rows), float(charge)) == (ROWS + 1, ROWS / 100)
    assert float(grown) < 12  # 200 000 rows kept, even as bare numbers, would be more

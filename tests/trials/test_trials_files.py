"""The forms in which loggers write: headers, delimiters, numbers, times; and what is wrong with a file.

The forms are common practice, no source, but where one is named. Figures are worked out by hand.
"""

from pathlib import Path

import pytest

from sitelog.files.trials.columns import find_columns
from sitelog.files.trials.reading import read_trial
from tests.trials.writing import table, trial, trouble

HOUR = [(60 * k, -30 if 0 < k <= 60 else 0, 52 - k / 100) for k in range(62)]  # 30 A for about an hour


def _discharged(found) -> float:
    assert found.out is not None
    return found.out.charge


@pytest.mark.parametrize(
    "header",
    [
        "Time [s],Current [A],Voltage [V]",
        "time_s,current_a,voltage_v",
        "Time(s),Current(A),Voltage(V)",
        "t / s,I / A,U / V",
        "t in s,I in A,U in V",
        "Seconds,Amps,Volts",
        "elapsed time (s),Battery Current (A),Battery Voltage (V)",
        '"Test_Time (s)","Current (A)","Voltage (V)"',
        "time/s,I/A,U/V",
    ],
)
def test_headers(tmp_path: Path, header: str) -> None:
    """Names and units in brackets, behind underscores and strokes, or as one word (I/A: DIN 1313)."""
    found = trial(tmp_path, table(header, HOUR))
    assert found.assumed == ()
    assert _discharged(found) == pytest.approx(30.0)
    assert found.voltage is not None


def test_units_in_a_line_of_their_own(tmp_path: Path) -> None:
    text = table("Time;Current;Voltage\ns;mA;mV", [(t, i * 1000, round(v * 1000)) for t, i, v in HOUR], ";")
    found = trial(tmp_path, text)
    assert found.assumed == ()
    assert _discharged(found) == pytest.approx(30.0)


def test_units_unsaid_are_said_to_be(tmp_path: Path) -> None:
    found = trial(tmp_path, table("Time,Current,Voltage", HOUR))
    assert found.assumed == ("`Time` in s", "`Current` in A", "`Voltage` in V")


def test_lines_above_the_header(tmp_path: Path) -> None:
    text = "# logger 4\nserial: 12, start: now\n\n" + table("time [s],current [A],voltage [V]", HOUR)
    assert _discharged(trial(tmp_path, text)) == pytest.approx(30.0)


def test_decimal_commas(tmp_path: Path) -> None:
    rows = [(f"{t},0", f"{i},0", f"{v:.2f}".replace(".", ",")) for t, i, v in HOUR]
    for delimiter in (";", "\t"):
        text = table(delimiter.join(["Zeit/time [s]", "current [A]", "voltage [V]"]), rows, delimiter)
        found = trial(tmp_path, text)
        assert _discharged(found) == pytest.approx(30.0)
        assert found.voltage is not None
        assert found.voltage.high == 52.0


def test_thousands_are_refused(tmp_path: Path) -> None:
    found = trouble(tmp_path, "time [s];current [A];voltage [V]\n0;1,5;50\n1.000,5;1,5;50\n")
    assert (found.line, "thousands" in found.message) == (3, True)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "latin-1"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    rows = [(*row, 77) for row in HOUR]
    found = trial(tmp_path, table("time [s],current [A],voltage [V],temperature [°F]", rows), "", encoding)
    assert found.temperature is not None
    assert found.temperature.mean == pytest.approx(
        25.0
    )  # 77 degF is 25 degC: NIST SP 811 (2008), appendix B.8
    assert _discharged(found) == pytest.approx(30.0)


@pytest.mark.parametrize(
    "stamp",
    [
        lambda s: f"2026-03-02 10:{s // 60:02}:{s % 60:02}",
        lambda s: f"2026-03-02T10:{s // 60:02}:{s % 60:02}Z",
        lambda s: f"2026-03-02T10:{s // 60:02}:{s % 60:02}.250+01:00",
        lambda s: f"2026/03/02 10:{s // 60:02}:{s % 60:02}",
        lambda s: f"02.03.2026 10:{s // 60:02}:{s % 60:02}",
        lambda s: f"10:{s // 60:02}:{s % 60:02}",
        lambda s: f"{1_772_445_600 + s}",
        lambda s: f"{1_772_445_600_000 + s * 1000}",
    ],
)
def test_times(tmp_path: Path, stamp) -> None:
    """Dates with times as in ISO 8601 and RFC 3339, day first with dots, clock times, seconds since 1970."""
    rows = [(stamp(s), -36, 52) for s in range(0, 3000, 30)]
    found = trial(tmp_path, table("timestamp,current [A],voltage [V]", rows), "discharge")
    assert found.assumed == ()
    assert _discharged(found) == pytest.approx(29.7)  # 2970 s at 36 A
    assert not found.gaps.any


def test_a_zone_is_reckoned_with(tmp_path: Path) -> None:
    """1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z (RFC 3339, 5.8)."""
    rows = [
        ("1996-12-19T16:39:27-08:00", -60, 50),
        ("1996-12-19T16:39:57-08:00", -60, 50),
        ("1996-12-20T00:40:27Z", -60, 50),
    ]
    found = trial(tmp_path, table("time,current [A],voltage [V]", rows), "discharge")
    assert (found.seconds, found.gaps.any) == (60, False)


def test_a_date_beside_the_time_and_a_midnight(tmp_path: Path) -> None:
    rows = [
        ("2026-03-02", "23:59:00", -60, 50),
        ("2026-03-03", "00:00:00", -60, 50),
        ("2026-03-03", "00:01:00", -60, 50),
    ]
    assert trial(tmp_path, table("date,time,current [A],voltage [V]", rows), "discharge").seconds == 120
    bare = [row[1:] for row in rows]
    assert trial(tmp_path, table("time,current [A],voltage [V]", bare), "discharge").seconds == 120


def test_a_time_with_its_unit_beats_the_step_time(tmp_path: Path) -> None:
    rows = [(k, 0, *row) for k, row in enumerate(HOUR)]
    assert _discharged(
        trial(tmp_path, table("n,StepTime(s),Time(s),Current(A),Voltage(V)", rows))
    ) == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("rows", "line", "words"),
    [
        ([("3/2/2026 10:00", 1, 50), ("3/2/2026 10:01", 1, 50)], 2, "day/month or month/day"),
        ([("2026-03-02 10:00", 1, 50), ("2026-13-02 10:01", 1, 50)], 3, "no date"),
        ([("2026-03-02 10:00", 1, 50), ("2026-03-02T10:01Z", 1, 50)], 3, "zone"),
        ([("2026-03-02 10:00", 1, 50), ("2026-03-02 10:01", "x", 50)], 3, "`x` in the column `current [A]`"),
        ([("2026-03-02 10:00", 1, 50), ("2026-03-02 10:01", "1e12", 50)], 3, "no value that can be meant"),
        ([("2026-03-02 10:00", 1, 50), ("2026-03-02 10:01",), ("2026-03-02 10:02", 1, 50)], 3, "fewer cells"),
        ([("2026-03-02 10:00", 1, 50)], 2, "not two rows"),
    ],
)
def test_lines_that_cannot_be_read(tmp_path: Path, rows, line: int, words: str) -> None:
    found = trouble(tmp_path, table("time,current [A],voltage [V]", rows))
    assert found.line == line
    assert words in found.message


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ("time [s],current [A],current [A],voltage [V]", "two columns are called `current [A]`"),
        ("time [s],inner current [A],outer current [A],voltage [V]", "could both be the current"),
        ("time [s],current [V],voltage [V]", "another sort of unit"),
        ("time [s],power [mw],voltage [V]", "can be read as mW or MW"),
        ("time [s],current [X],voltage [V]", "no unit known"),
        ("a,b,c", "no header"),
        ("", "the file is empty"),
    ],
)
def test_headers_that_cannot_be_meant(tmp_path: Path, header: str, words: str) -> None:
    assert words in trouble(tmp_path, header + "\n" + "0,1,2\n" * bool(header)).message


def test_the_batterys_own_columns_are_taken() -> None:
    """Beside those of the grid, the roof and the house; columns of one name that nobody needs do no harm."""
    header = (
        "time [s],Loop,Loop,grid current [A],battery current [A],pv current [A],battery voltage [V],u ac [V]"
    )
    found = find_columns(header.split(","))
    assert found is not None
    assert hasattr(found, "roles")
    assert {role: column.at for role, column in found.roles.items()} == {"current": 4, "voltage": 6}


# ---- gaps, pauses, resets ---------------------------------------------------------------------------
def _steady(times) -> str:
    return table("time [s],current [A],voltage [V]", [(t, -36, 52) for t in times])


def test_a_gap_is_not_added_up(tmp_path: Path) -> None:
    """36 A are 0.01 Ah a second: 100 s, an hour of nothing, 200 s."""
    found = trial(tmp_path, _steady([*range(101), *range(3700, 3901)]), "discharge")
    assert found.charge_out == pytest.approx(3.0)
    assert _discharged(found) == pytest.approx(2.0)
    assert (found.gaps.found, found.gaps.seconds, found.gaps.line, found.gaps.live) == (1, 3600, 103, True)
    assert found.out is not None
    assert found.out.broken


def test_where_a_gap_begins(tmp_path: Path) -> None:
    """One and a half of the logger's long steps are bridged and counted, more is a gap (team assumption)."""
    bridged = trial(tmp_path, _steady([*range(20), 20.5]), "discharge").gaps
    assert (bridged.found, bridged.bridged) == (0, 1.5)
    assert trial(tmp_path, _steady([*range(20), 20.6]), "discharge").gaps.found == 1


def test_time_that_begins_again(tmp_path: Path) -> None:
    found = trial(tmp_path, _steady([*range(101), *range(51)]), "discharge")
    assert found.charge_out == pytest.approx(1.5)
    assert (found.gaps.resets, found.gaps.reset_line) == (1, 103)


def test_a_header_written_again(tmp_path: Path) -> None:
    """A logger switched off and on writes its header again: a pause, though the times would fit."""
    header, *rows = _steady(range(101)).splitlines()
    found = trial(tmp_path, "\n".join([header, *rows[:51], header, *rows[51:]]), "discharge")
    assert found.charge_out == pytest.approx(0.99)
    assert found.gaps.resets == 1


def test_blanks_and_a_last_line_cut_short(tmp_path: Path) -> None:
    text = _steady(range(101)).replace("\n50,-36,52\n", "\n50,,52\n") + "101,"
    found = trial(tmp_path, text, "discharge")
    assert found.charge_out == pytest.approx(0.98)  # a row left out is a gap of two steps
    assert found.blanks == 2
    assert (found.gaps.found, found.gaps.seconds, found.gaps.line) == (1, 2, 53)


# ---- which way ----------------------------------------------------------------------------------------
def test_the_voltage_tells_the_sign(tmp_path: Path) -> None:
    """Current into a battery lifts its voltage."""
    for sign in (1, -1):
        rows = [(t, sign * i, v + i * 0.02) for t, i, v in HOUR]
        found = trial(tmp_path, table("time [s],current [A],voltage [V]", rows), "trial")
        assert _discharged(found) == pytest.approx(30.0)
        assert found.direction == f"positive {'' if sign > 0 else 'dis'}charges, as the voltage follows it"


def test_the_mode_tells_where_there_is_no_sign(tmp_path: Path) -> None:
    rows = [(t, 20, 52, "charging" if t < 3600 else "discharging") for t in range(0, 7201, 60)]
    found = trial(tmp_path, table("time [s],current [A],voltage [V],mode", rows))
    assert found.charge_in == pytest.approx(20, rel=0.02)
    assert found.charge_out == pytest.approx(20, rel=0.02)
    assert (found.discharges, found.charges) == (1, 1)


def test_nothing_tells(tmp_path: Path) -> None:
    rows = [(t, 20 if t < 3600 else -20) for t in range(0, 7201, 60)]
    assert "nothing tells" in trouble(tmp_path, table("time [s],current [A]", rows), "trial").message


def test_a_charge_called_a_discharge(tmp_path: Path) -> None:
    """The voltage is believed, not the word: it rises."""
    rows = [(t, 20, 50 + t / 1000) for t in range(0, 3601, 60)]
    found = trial(tmp_path, table("time [s],current [A],voltage [V]", rows), "discharge")
    assert found.out is None
    assert found.into is not None


# ---- counters, cells, temperatures --------------------------------------------------------------------
def test_counters_alone(tmp_path: Path) -> None:
    """1.0 to 3.5 kWh, then again from 0 to 0.5: three in all, the reset left out."""
    rows = [(60 * k, e) for k, e in enumerate([1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 0.0, 0.25, 0.5])]
    found = trial(tmp_path, table("time [s],energy [kWh]", rows), "discharge")
    assert found.energy_out == pytest.approx(3000)
    assert found.gaps.resets == 1
    both = [(0, 1, 5), (60, 2, 5), (120, 2, 7)]
    found = trial(tmp_path, table("time [s],Charge_Energy [kWh],Discharge_Energy [kWh]", both))
    assert (found.energy_in, found.energy_out) == pytest.approx((1000, 2000))


def test_the_spread_of_cells_and_temperatures(tmp_path: Path) -> None:
    rows = [(0, -5, 3300, 3310, 20, 21), (60, -5, 3290, 3325, 22, 24), (120, -5, 3280, 3300, 24, 25)]
    found = trial(
        tmp_path,
        table("time [s],current [A],cell_01 [mV],cell_02 [mV],cell 1 temp (C),cell 2 temp (C)", rows),
        "discharge",
    )
    assert found.spread == pytest.approx(0.035)
    assert found.spread_line == 3
    assert found.temperature_spread == pytest.approx(2.0)
    assert found.temperature is not None
    assert (found.temperature.low, found.temperature.mean, found.temperature.high) == pytest.approx(
        (20, 22.75, 25)
    )  # the least and the greatest of all cells; the mean is over cells and time


def test_the_mean_temperature_is_over_time(tmp_path: Path) -> None:
    """20 degC for ten minutes in two rows, 30 degC for one in six: the rows' own mean would be 27.5."""
    rows = [(0, -5, 20), (600, -5, 20), *((600 + k, -5, 30) for k in range(10, 61, 10))]
    found = trial(tmp_path, table("time [s],current [A],temperature [degC]", rows), "discharge")
    assert found.temperature is not None
    assert found.temperature.mean == pytest.approx((600 * 20 + 10 * 25 + 50 * 30) / 660)


def test_state_of_charge_in_per_cent_or_as_a_share(tmp_path: Path) -> None:
    for scale, unit in ((100, " [%]"), (1, "")):
        rows = [(60 * k, -5, 50, (0.9 - k / 100) * scale) for k in range(11)]
        found = trial(tmp_path, table(f"time [s],current [A],voltage [V],soc{unit}", rows), "discharge")
        assert found.soc == pytest.approx((0.9, 0.8))
        assert found.out is not None
        assert found.out.start_soc == pytest.approx(0.9)


# ---- hostile text -------------------------------------------------------------------------------------
def test_no_text_of_the_file_reaches_a_terminal_raw(tmp_path: Path) -> None:
    sneaky = "\x1b[2J\x07\u202ered"
    found = trouble(tmp_path, f"time [s],current [A],voltage [V]\n0,1,50\n1,{sneaky},50\n")
    assert found.message.isprintable()
    named = trouble(tmp_path, f"time [s],{sneaky} current [A],{sneaky} current [A]\n0,1,50\n1,1,50\n")
    assert named.message.isprintable()
    assert len(trouble(tmp_path, f"time [s],current [A]\n0,1\n1,{'9' * 5000}x\n").message) < 200


def test_files_that_are_none(tmp_path: Path) -> None:
    assert "100000 characters" in trouble(tmp_path, "time [s],current [A]\n" + "1" * 200_000).message
    assert "value zero" in trouble(tmp_path, "time [s],current [A]\n0,1\n\0,1\n").message
    (tmp_path / "folder.csv").mkdir()
    for name, absent in (("folder.csv", False), ("none.csv", True)):
        found = read_trial(str(tmp_path / name))
        assert getattr(found, "absent", None) is absent
        assert getattr(found, "line", None) == 0

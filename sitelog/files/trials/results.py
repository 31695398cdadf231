"""What a logger's file says, as data. Ah, Wh, s, V, A, degC throughout."""

from datetime import date
from typing import NamedTuple


class TrialFault(NamedTuple):
    """Why a file says nothing: what is the matter, at which line (0 where it is no line's fault).

    Text of the file that stands in `message` is already fit to be shown.
    """

    file: str
    line: int
    message: str
    help: str = ""
    absent: bool = False


class DataFault(NamedTuple):
    """Rows in which a column cannot be right, or says nothing: its first and last line, and what is wrong."""

    first_line: int
    last_line: int
    message: str


class HalfCycle(NamedTuple):
    """One discharge or one charge, a run: from its first row under current to its last, short rests included.

    `seconds` in s, charges in Ah, energies in Wh, voltages in V, states of charge as shares of 1.

    `half_charge` and `half_energy` are half the width between the smallest and the largest sum that the
    rows allow, if what was logged ran from each row to the next without a bump between them. `broken` says
    that a gap in the record cut it off at either end. What the file has no column for is None.
    """

    direction: str  # out, in
    first_line: int
    last_line: int
    seconds: float
    charge: float | None
    energy: float | None
    half_charge: float
    half_energy: float
    start_voltage: float | None
    end_voltage: float | None
    start_soc: float | None
    end_soc: float | None
    broken: bool = False


class RecordGaps(NamedTuple):
    """Where nothing was logged for longer than the logger's step allows, or the time ran backwards.

    `found` and `seconds` are of gaps; `resets` are the places where time or counter began again;
    `line` is where the longest gap ends. `live` says that current flowed at the edge of one of them.
    `bridged` are the seconds in steps longer than the usual one that are still no gap.
    """

    found: int = 0
    seconds: float = 0.0
    longest: float = 0.0
    line: int = 0
    resets: int = 0
    reset_line: int = 0
    live: bool = False
    bridged: float = 0.0

    @property
    def any(self) -> bool:
        """Whether the record is in more than one piece."""
        return bool(self.found or self.resets)


class Extent(NamedTuple):
    """The least, the mean over time and the greatest of what was logged, in its base unit."""

    low: float
    mean: float
    high: float


class Trial(NamedTuple):
    """What one file says. `out` and `into` are its largest discharge and charge, `runs` its first hundred.

    The sums are over every row, in stretches without a gap. `assumed` is what the header leaves unsaid and
    was taken for granted; `direction` says which sign of the current charges, and how that is known.

    `method` is what the sums were made by: trapezoids or counters. `faults` are rows that cannot be right,
    the first twenty; `empty` says for each column in use in which share of the rows it says nothing.
    `columns` are the names of the columns behind each role. `days` are the first and the last day of its
    times; None where they carry no date.
    """

    file: str
    rows: int
    step: float
    seconds: float
    runs: tuple[HalfCycle, ...]
    discharges: int
    charges: int
    out: HalfCycle | None
    into: HalfCycle | None
    charge_out: float | None
    charge_in: float | None
    energy_out: float | None
    energy_in: float | None
    half_charge: float
    half_energy: float
    auxiliary: float
    temperature: Extent | None
    voltage: Extent | None
    current: float | None
    soc: tuple[float, float] | None
    spread: float | None
    spread_line: int
    temperature_spread: float | None
    gaps: RecordGaps
    blanks: int
    direction: str
    assumed: tuple[str, ...]
    notes: tuple[str, ...]
    method: str = ""
    faults: tuple[DataFault, ...] = ()
    empty: tuple[tuple[str, str, float, int], ...] = ()  # role, column, share of the rows, first such line
    columns: tuple[tuple[str, tuple[str, ...]], ...] = ()
    days: tuple[date, date] | None = None

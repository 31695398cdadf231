"""A logger's file beside the log → what the trial gave: charge, energy, temperatures, voltages, spread.

Streams the file twice and keeps no rows, so its size costs time and no memory. Knows no entries
and no sheets.
"""

from sitelog.trials.efficiency import Efficiency, round_trip
from sitelog.trials.reading import read_trial
from sitelog.trials.results import Gaps, Run, Trial, Trouble

__all__ = ["Efficiency", "Gaps", "Run", "Trial", "Trouble", "read_trial", "round_trip"]

"""A logger's file beside the log → what the trial gave: charge, energy, temperatures, voltages, spread.

`reading.read_trial` streams the file twice and keeps no rows, so its size costs time and no memory. Knows
no entries and no sheets. Nothing is imported here: a check without trials need not wait for it.
"""

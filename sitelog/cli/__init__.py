"""The command line: one file for each command.

In: words typed in a shell. Out: text, files and an exit status. Only this room prints, exits and reads the
environment. Knows no rule of the trade.
"""

"""The command line: one file per command. Only this room prints, exits, reads clocks and environment."""

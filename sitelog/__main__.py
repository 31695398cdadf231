"""The process of the command, started as `sitelog` or as `python -m sitelog`."""

import atexit
import os
import sys

from sitelog.cli.main import main


def run() -> None:
    """Run the command, and end at once: to take apart what ends with the process takes as long as a log."""
    status = main()
    atexit._run_exitfuncs()  # libraries that are asked for pages and pictures may have some
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except OSError:
        status = status or 1  # the output was closed, or the disk is full
    os._exit(status)


if __name__ == "__main__":
    run()

"""`python -m sitelog`: the same as the command."""

import sys

from sitelog.cli.main import main

if __name__ == "__main__":
    sys.exit(main())

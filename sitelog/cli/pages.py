"""What the commands that write a page share: where to, in which form, what they refuse before any work."""

from __future__ import annotations

import argparse
import sys

from sitelog.cli.edges import complain
from sitelog.cli.printing import add_printing, as_pdf
from sitelog.files.source import role_of


def add_page(parser: argparse.ArgumentParser) -> None:
    """-o, --format, --pdf and --paper."""
    parser.add_argument(
        "-o", "--output", metavar="FILE", default=None, help="write to a file (default: print)"
    )
    parser.add_argument(
        "--format", choices=("html", "markdown"), default="html", help="html (default) or markdown"
    )
    add_printing(parser)


def can_write(args: argparse.Namespace, command: str) -> bool:
    """Whether what the page needs is installed, and its file is none that would be read; else it is said."""
    if args.format == "html" and not _has_extra():
        complain(f'{command} needs the extra `report`: pip install "sitelog[report]"')
        return False
    if args.output is not None and role_of(args.output):
        complain(f"{args.output} would be read as a {role_of(args.output)}; give the page another name")
        return False
    return True


def write(text: str, args: argparse.Namespace, browser: str) -> bool:
    """Write a page to its file or to standard output, as PDF where there is a browser; False: it failed."""
    data = as_pdf(text, browser, args) if browser else text.encode()
    if data is None:
        return False
    if args.output is not None:
        from sitelog.cli.writing import put

        put(args.output, data)
    elif browser:
        sys.stdout.buffer.write(data)
    else:
        sys.stdout.write(text)
        if sys.stdout.isatty():
            complain("`-o FILE` writes it to a file")
    return True


def _has_extra() -> bool:
    from importlib.util import find_spec

    return all(find_spec(name) is not None for name in ("jinja2", "PIL"))

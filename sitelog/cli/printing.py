"""The options that print a page: whether, on which paper, and with which browser."""

from __future__ import annotations

import argparse
import os
import sys

from sitelog.cli.edges import complain

# Names under which browsers of the Chromium family are installed; the first found is taken.
_BROWSERS = ("chromium", "chromium-browser", "headless-shell")


def add_printing(parser: argparse.ArgumentParser) -> None:
    """--pdf and --paper."""
    pdf = "print it as PDF, with an installed browser of the Chromium family (SITELOG_BROWSER names another)"
    parser.add_argument("--pdf", action="store_true", help=pdf)
    papers = ("A4", "Letter")
    parser.add_argument("--paper", choices=papers, help="the paper of the PDF (default: A4)")


def to_print(args: argparse.Namespace) -> str | None:
    """The browser to print with, empty without --pdf; None where it can't be printed, after a complaint."""
    if not args.pdf:
        if args.paper is not None:
            complain("--paper is that of the PDF; add --pdf")
            return None
        return ""
    if args.format != "html":
        complain(f"--pdf prints the page in HTML; leave out --format {args.format}")
        return None
    if args.output is None and sys.stdout.isatty():
        complain("a terminal can't show a PDF; name a file with -o")
        return None
    folder = _folder(args)
    if not os.path.isdir(folder):
        complain(f"{args.output}: not written: there is no folder {folder}")
        return None
    return find_browser()


def find_browser() -> str | None:
    """The browser to print with; None where there is none, after a complaint."""
    from shutil import which

    named = os.environ.get("SITELOG_BROWSER")
    if named:
        found = which(os.path.expanduser(named))
        if found is None:
            complain(f"SITELOG_BROWSER names `{named}`, which is no program that can be run")
        return found
    found = next(filter(None, map(which, _BROWSERS)), None)
    if found is None:
        complain(
            "--pdf needs a browser of the Chromium family, and none was found; install one or name it in "
            "SITELOG_BROWSER, or write the page without --pdf and print it from any browser"
        )
    return found


def as_pdf(html: str, browser: str, args: argparse.Namespace) -> bytes | None:
    """The PDF of a page; None where it was not printed, after a complaint."""
    from sitelog.report.pdf import PrintError, printed

    try:
        return printed(html, browser, args.paper or "A4", _folder(args))
    except PrintError as error:
        complain(str(error))
        return None


def _folder(args: argparse.Namespace) -> str:
    """Where the browser works: beside the file, since some browsers see the user's own folders only."""
    from tempfile import gettempdir

    return gettempdir() if args.output is None else os.path.dirname(os.path.realpath(args.output))

"""The options that print a page: whether, on which paper, and with which browser."""

from __future__ import annotations

import argparse
import os

from sitelog.cli.edges import complain

# Names under which browsers of the Chromium family are installed; the first found is taken.
_BROWSERS = (
    "chromium",
    "chromium-browser",
    "chrome-headless-shell",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "msedge",
)


def add_printing(parser: argparse.ArgumentParser) -> None:
    """--pdf and --paper."""
    pdf = "print it as PDF, with an installed browser of the Chromium family (SITELOG_BROWSER names another)"
    parser.add_argument("--pdf", action="store_true", help=pdf)
    papers = ("A4", "Letter")
    parser.add_argument("--paper", choices=papers, default="A4", help="the paper of the PDF (default: A4)")


def find_browser() -> str | None:
    """The browser to print with; None, and said why, where there is none."""
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


def as_pdf(html: str, browser: str, paper: str, path: str) -> bytes | None:
    """The PDF of a page that is to become the file `path`; None, and said why, where it was not printed."""
    from tempfile import gettempdir

    from sitelog.report.pdf import PrintError, printed

    # Beside the file: some installed browsers see the user's own folders only.
    folder = gettempdir() if path == "-" else os.path.dirname(os.path.realpath(path))
    try:
        return printed(html, browser, paper, folder)
    except PrintError as error:
        complain(str(error))
        return None

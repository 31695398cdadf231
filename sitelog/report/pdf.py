"""A page → PDF, printed by an installed browser of the Chromium family.

Why a browser and not a library: what it prints is the very page that was read on the screen. The library
that was tried, WeasyPrint 70, printed the pictures black, for it takes no `var(--ink)` in SVG, and the map of
joints as one column. The browser's PDF is tagged for screen readers and has bookmarks; page numbers and
repeated table heads come from the style sheet.
"""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

_SECONDS = 120.0

# No window, no network, nothing looked for or told to anyone, and a profile that is thrown away.
_FLAGS = (
    "--headless",
    "--disable-gpu",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-extensions",
    "--disable-sync",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-dev-shm-usage",  # containers have little shared memory, and a long page needs much
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--no-pdf-header-footer",
    "--generate-pdf-document-outline",
)


class PrintError(Exception):
    """The page was not printed; the message says why."""


def printed(html: str, browser: str, paper: str, folder: str, seconds: float = _SECONDS) -> bytes:
    """The PDF of a page on `paper`.

    The browser works in a new folder inside `folder`, which goes again: some installed browsers see no other
    place than where the user's own files are. Raises `PrintError`.
    """
    with TemporaryDirectory(prefix=".sitelog-print-", dir=folder, ignore_cleanup_errors=True) as name:
        scratch = Path(os.path.realpath(name))
        page, pdf = scratch / "page.html", scratch / "page.pdf"
        page.write_text(_on_paper(html, paper), encoding="utf-8")
        profile = f"--user-data-dir={scratch / 'profile'}"
        command = [browser, *_FLAGS, *_as_root(), profile, f"--print-to-pdf={pdf}", page.as_uri()]
        said = _run(command, scratch / "said.txt", seconds)
        try:
            data = pdf.read_bytes()
        except FileNotFoundError:
            data = b""
    if not data.startswith(b"%PDF-"):
        raise PrintError(f"{browser} printed nothing{said}")
    return data


def _on_paper(html: str, paper: str) -> str:
    """The page with the size of its paper; without it, whoever prints the page chooses."""
    head, mark, rest = html.partition("</head>")
    return f"{head}<style>@page {{ size: {paper} }}</style>\n{mark}{rest}"


def _as_root() -> tuple[str, ...]:
    """The administrator (as in a container) is refused a browser with its sandbox on."""
    return ("--no-sandbox",) if sys.platform != "win32" and os.geteuid() == 0 else ()


def _run(command: list[str], messages: Path, seconds: float) -> str:
    """Run the browser to its end; what it said last, where it ended badly."""
    with messages.open("wb") as stream:
        try:
            # A session of its own, so that what the browser starts can be ended with it. Its messages go to
            # a file, for a process left behind would keep a pipe open.
            running = subprocess.Popen(
                command,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=stream,
                start_new_session=True,
            )
        except OSError as error:
            raise PrintError(f"{command[0]}: {(error.strerror or str(error)).lower()}") from None
        try:
            status = running.wait(seconds)
        except subprocess.TimeoutExpired:
            raise PrintError(f"{command[0]} was stopped after {seconds:g} s; it had not printed") from None
        finally:
            _end(running)
    if not status:
        return ""
    lines = messages.read_text("utf-8", "replace").strip().splitlines()
    return f" (status {status}){': ' + lines[-1] if lines else ''}"


def _end(running: subprocess.Popen[bytes]) -> None:
    """End the browser and all it started."""
    if sys.platform == "win32":
        if running.poll() is None:
            subprocess.run(
                ["taskkill", "/F", "/T", "/PID", str(running.pid)], capture_output=True, check=False
            )
    else:
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(running.pid, signal.SIGKILL)
    running.wait()

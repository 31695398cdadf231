"""Printing a page: which browser, what is told where it fails, and that nothing is left behind."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sitelog.cli.main import main
from sitelog.cli.printing import find_browser
from sitelog.report.pdf import PrintError, printed
from tests.report.browser.pages import EXAMPLES, TODAY

PAGE = "<!doctype html><html lang=en><head><title>hill-9</title></head><body>hill-9</body></html>"

pytestmark = pytest.mark.skipif(os.name != "posix", reason="the pretended browsers are shell scripts")


@pytest.fixture
def browser(tmp_path):
    """Make a program that does what a script says, in the place of a browser."""

    def make(script: str, name: str = "pretended") -> str:
        path = tmp_path / "bin" / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(f"#!/bin/sh\n{script}\n")
        path.chmod(0o755)
        return str(path)

    return make


@pytest.fixture
def folder(tmp_path):
    path = tmp_path / "out"
    path.mkdir()
    return path


# Finds the file to print to among the arguments, as a browser would.
PRINTS = 'for one; do case "$one" in --print-to-pdf=*) printf "%%PDF-1.4 made" > "${one#*=}";; esac; done'


def test_what_the_browser_printed_is_given(browser, folder):
    assert printed(PAGE, browser(PRINTS), "A4", str(folder)) == b"%PDF-1.4 made"
    assert list(folder.iterdir()) == []


def test_the_page_is_given_its_paper_and_the_browser_no_network(browser, folder, tmp_path):
    words = f'printf "%s\\n" "$@" > {tmp_path}/words'
    page = f'for page; do :; done; cp "${{page#file://}}" {tmp_path}/seen'
    script = f"{PRINTS}\n{words}\n{page}"
    printed(PAGE, browser(script), "Letter", str(folder))
    words = (tmp_path / "words").read_text().splitlines()
    seen = (tmp_path / "seen").read_text()
    assert "@page { size: Letter }" in seen
    assert seen.replace("<style>@page { size: Letter }</style>\n", "") == PAGE
    assert "--host-resolver-rules=MAP * ~NOTFOUND" in words
    assert ("--no-sandbox" in words) == (os.geteuid() == 0)
    profile = next(word for word in words if word.startswith("--user-data-dir="))
    assert Path(profile.partition("=")[2]).is_relative_to(folder)


def test_a_browser_that_fails_is_quoted(browser, folder):
    script = "echo first >&2; echo 'no display here' >&2; exit 3"
    with pytest.raises(PrintError, match=r"printed nothing \(status 3\): no display here$"):
        printed(PAGE, browser(script), "A4", str(folder))
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize("script", ["exit 0", PRINTS.replace("%%PDF-1.4 made", "<html>")])
def test_no_pdf_is_no_success(browser, folder, script):
    with pytest.raises(PrintError, match=r"printed nothing$"):
        printed(PAGE, browser(script), "A4", str(folder))


def test_a_browser_that_hangs_is_ended_with_all_it_started(browser, folder, tmp_path):
    script = f"(while :; do echo x >> {tmp_path}/beats; sleep 0.05; done) & sleep 600"
    with pytest.raises(PrintError, match=r"was stopped after 0\.5 s"):
        printed(PAGE, browser(script), "A4", str(folder), seconds=0.5)
    beats = (tmp_path / "beats").stat().st_size
    assert beats > 0
    time.sleep(0.3)
    assert (tmp_path / "beats").stat().st_size == beats
    assert list(folder.iterdir()) == []


def test_what_cannot_be_run_is_said(folder):
    with pytest.raises(PrintError, match="no such file or directory"):
        printed(PAGE, str(folder / "none"), "A4", str(folder))


@pytest.fixture
def handover(monkeypatch, browser, capfd):
    """Run `sitelog handover` of an example with a pretended browser; its status and what it said."""

    def run(*words: str, script: str = PRINTS) -> tuple[int, str, str]:
        monkeypatch.setenv("SITELOG_BROWSER", browser(script))
        status = main(["handover", "maple-118", str(EXAMPLES), "--today", TODAY, *words])
        return status, *capfd.readouterr()

    return run


def test_the_pdf_is_moved_into_place(handover, folder):
    path = folder / "page.pdf"
    path.write_bytes(b"older")
    assert handover("--pdf", "-o", str(path))[0] == 0
    assert path.read_bytes() == b"%PDF-1.4 made"
    assert list(folder.iterdir()) == [path]


def test_the_pdf_goes_down_a_pipe(handover):
    assert handover("--pdf")[:2] == (0, "%PDF-1.4 made")


def test_a_failure_to_print_leaves_the_older_file(handover, folder):
    path = folder / "page.pdf"
    path.write_bytes(b"older")
    status, _, said = handover("--pdf", "-o", str(path), script="exit 7")
    assert (status, path.read_bytes()) == (2, b"older")
    assert said.rstrip().endswith("printed nothing (status 7)")


def test_an_interrupt_ends_the_browser_too(browser, folder, tmp_path):
    script = f"(while :; do echo x >> {tmp_path}/beats; sleep 0.05; done) & sleep 600"
    command = [sys.executable, "-m", "sitelog", "handover", "maple-118", str(EXAMPLES), "--pdf"]
    environment = {**os.environ, "SITELOG_BROWSER": browser(script)}
    path = folder / "page.pdf"
    running = subprocess.Popen(
        [*command, "-o", str(path)], env=environment, stderr=subprocess.PIPE, text=True
    )
    deadline = time.monotonic() + 60
    while not (tmp_path / "beats").exists() and time.monotonic() < deadline:
        time.sleep(0.05)
    running.send_signal(signal.SIGINT)
    assert running.communicate(timeout=60)[1] == "sitelog: stopped\n"
    assert running.returncode == 130
    beats = (tmp_path / "beats").stat().st_size
    time.sleep(0.3)
    assert (tmp_path / "beats").stat().st_size == beats
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--paper", "A4"], "--paper is that of the PDF; add --pdf"),
        (["--pdf", "--format", "markdown"], "--pdf prints the page in HTML; leave out --format markdown"),
        (["--pdf", "-o", "/none/page.pdf"], "/none/page.pdf: not written: there is no folder /none"),
    ],
)
def test_what_cannot_be_printed_is_said_at_once(handover, words, said):
    assert handover(*words) == (2, "", f"sitelog: {said}\n")


def test_the_browser_named_is_taken(browser, monkeypatch):
    monkeypatch.setenv("SITELOG_BROWSER", browser("exit 0", "mine"))
    assert find_browser() == browser("exit 0", "mine")


def test_a_browser_named_wrongly_is_said(monkeypatch, tmp_path, capsys):
    monkeypatch.setenv("SITELOG_BROWSER", str(tmp_path / "none"))
    assert find_browser() is None
    assert "which is no program that can be run" in capsys.readouterr().err


def test_the_first_known_name_on_the_path_is_taken(browser, monkeypatch):
    monkeypatch.delenv("SITELOG_BROWSER", raising=False)
    browser("exit 0", "chromium-browser")
    first = browser("exit 0", "chromium")
    monkeypatch.setenv("PATH", os.path.dirname(first))
    assert find_browser() == first


def test_no_browser_at_all_is_said(monkeypatch, tmp_path, capsys):
    monkeypatch.delenv("SITELOG_BROWSER", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert find_browser() is None
    assert "none was found; install one or name it in SITELOG_BROWSER" in capsys.readouterr().err

"""One browser for all tests of a worker, and every page opened in it once."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from sitelog.cli.printing import find_browser
from tests.report.browser.pages import made_by

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]
LOOKING = Path(__file__).with_name("looking.js").read_text(encoding="utf-8")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Page by page and not look by look: a worker then opens few of the pages."""
    here = Path(__file__).parent
    places = [at for at, one in enumerate(items) if one.path.parent == here and _page_of(one)]
    for at, item in zip(places, sorted((items[at] for at in places), key=_page_of), strict=True):
        items[at] = item


def _page_of(item: pytest.Item) -> str:
    call = getattr(item, "callspec", None)
    return str(call.params.get("name", "")) if call is not None else ""


class Screen:
    """One page in the browser, with what it asked for and what the browser said of it."""

    def __init__(self, browser: Any, path: Path, **how: Any) -> None:
        self.asked: list[str] = []
        self.said: list[str] = []
        self.page = browser.new_context(**how).new_page()
        self.page.on("console", lambda one: self.said.append(f"{one.type}: {one.text}"))
        self.page.on("pageerror", lambda one: self.said.append(f"error: {one}"))
        self.page.on("dialog", lambda one: (self.said.append(f"dialog: {one.message}"), one.dismiss()))
        self._own = path.as_uri()
        self.page.route("**/*", self._only_the_page)
        self.page.goto(self._own)

    def _only_the_page(self, route: Any) -> None:
        if route.request.url == self._own:
            route.continue_()
        else:
            self.asked.append(route.request.url)
            route.abort()

    def faults(self, what: str, **options: Any) -> list[str]:
        """What one function of looking.js finds wrong."""
        found: list[str] = self.page.evaluate(f"options => ({LOOKING.strip()}).{what}(options)", options)
        return found

    def show(self, width: int = 1280, scheme: str = "light", media: str = "screen") -> None:
        """Have it shown so wide, in light or dark, on a screen or as printed."""
        self.page.set_viewport_size({"width": width, "height": 900})
        self.page.emulate_media(color_scheme=scheme, media=media)


@pytest.fixture(scope="session")
def browser_path() -> str:
    found = find_browser()
    if found is None:
        pytest.skip("no browser of the Chromium family is installed")
    return found


@pytest.fixture(scope="session")
def browser(browser_path: str) -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as engine:
        started = engine.chromium.launch(executable_path=browser_path, args=FLAGS)
        yield started
        started.close()


@pytest.fixture(scope="session")
def page_of(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    own = tmp_path_factory.mktemp("pages")
    # What one worker has written the others need not write again.
    shared = tmp_path_factory.getbasetemp().parent if "PYTEST_XDIST_WORKER" in os.environ else own
    return made_by(own, shared)


@pytest.fixture(scope="session")
def screen_of(browser: Any, page_of: Callable[[str], Path]) -> Callable[[str], Screen]:
    """A page of a name, opened once; each test shows it as it needs it."""
    screens: dict[str, Screen] = {}

    def screen(name: str) -> Screen:
        if name not in screens:
            screens[name] = Screen(browser, page_of(name))
        return screens[name]

    return screen


@pytest.fixture(scope="session")
def java() -> str:
    found = shutil.which("java")
    if found is None:
        pytest.skip("the validator needs Java, which is not installed")
    return found

"""Markup and script in every field of a log arrive as words: nothing runs, and no element is made of them."""

import pytest

from tests.report.browser.conftest import Screen
from tests.report.browser.pages import HOSTILE

# What our own templates and pictures are made of, and nothing that runs, loads, embeds or asks.
ABSENT = (
    "script, iframe, object, embed, form, input, button, link, base, audio, video, foreignObject, animate"
)


@pytest.fixture(scope="module")
def unguarded(browser, page_of):
    """The page without the policy that it gives the browser: its words alone have to be harmless."""
    path = page_of("hostile")
    html = path.read_text(encoding="utf-8")
    bare = path.with_name("hostile-unguarded.html")
    head, _, rest = html.partition('<meta http-equiv="Content-Security-Policy"')
    bare.write_text(head + rest.partition(">")[2], encoding="utf-8")
    assert "Content-Security-Policy" not in bare.read_text(encoding="utf-8")
    opened = Screen(browser, bare)
    yield opened
    opened.page.context.close()


def test_nothing_ran(unguarded):
    assert unguarded.page.evaluate("window.ran") is None
    assert unguarded.said == []
    assert unguarded.asked == []


def test_no_element_was_made(unguarded):
    assert unguarded.page.locator(ABSENT).count() == 0
    assert unguarded.page.locator("img, b").evaluate_all("all => all.map(one => one.outerHTML)") == []
    handlers = (
        "() => [...document.querySelectorAll('*')].flatMap(one => [...one.attributes])"
        ".filter(one => one.name.startsWith('on') || /^\\s*javascript:/i.test(one.value))"
        ".map(one => one.value)"
    )
    assert unguarded.page.evaluate(handlers) == []


def test_it_is_there_to_read(unguarded):
    text = unguarded.page.locator("body").inner_text()
    assert text.count(HOSTILE) > 20
    assert text.count("{{7*7}}") >= text.count(HOSTILE)
    assert "49" not in text.replace("2.9.4", "")
    assert "&lt;b&gt;" in text  # an entity that was written stays as it was written

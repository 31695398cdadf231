"""Markup and script in every field of a log arrive as words: nothing runs, and no element is made of them."""

import pytest

from tests.report.browser.conftest import Screen
from tests.report.browser.pages import HOSTILE

ABSENT = (
    "script, iframe, object, embed, form, input, button, link, base, audio, video, foreignObject, animate"
)

# How often each element stands in the page, which ones in its pictures, and all names of attributes. Where
# lines break depends on the words, in pictures as in the page.
MADE_OF = """() => {
  const all = [...document.querySelectorAll("*")];
  const count = {};
  for (const one of all) if (!one.matches("wbr, svg *")) count[one.tagName] = (count[one.tagName] ?? 0) + 1;
  const drawn = [...new Set(all.filter(one => one.matches("svg *")).map(one => one.tagName))].sort();
  const attributes = [...new Set(all.flatMap(one => one.getAttributeNames()))].sort();
  return {count, drawn, attributes};
}"""


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


def test_no_element_was_made(screen_of):
    """A log with a plain word in the same places makes the same page."""
    hostile, plain = (screen_of(name).page.evaluate(MADE_OF) for name in ("hostile", "plain"))
    assert hostile == plain
    assert [name for name in hostile["attributes"] if name.startswith("on")] == []
    assert screen_of("hostile").page.locator(ABSENT).count() == 0


def test_it_is_there_to_read(unguarded):
    text = unguarded.page.locator("body").inner_text()
    assert text.count(HOSTILE) > 20
    assert text.count("{{7*7777}}") >= text.count(HOSTILE)
    assert "54439" not in text
    assert "&lt;b&gt;" in text  # an entity that was written stays as it was written

"""Every page in a real browser: quiet, alone, within its width, in order, legible, reached by a keyboard."""

import pytest

from tests.report.browser.conftest import Screen
from tests.report.browser.pages import SITES

NAMES = (*SITES, "overview", "long", "hostile")

every_page = pytest.mark.parametrize("name", NAMES)


@every_page
def test_nothing_is_fetched_and_nothing_goes_wrong(screen_of, name):
    screen = screen_of(name)
    assert screen.said == []
    assert screen.asked == []
    assert screen.page.locator("script, link, iframe, object, embed, form, base").count() == 0


@every_page
@pytest.mark.parametrize("width", [360, 768, 1440])
def test_the_page_does_not_scroll_sideways(screen_of, name, width):
    screen = screen_of(name)
    screen.show(width)
    assert screen.faults("sideways") == []


# What is left of A4 and Letter between the page's margins of 14 mm, at 96 px to the inch.
@every_page
@pytest.mark.parametrize("width", [687, 710], ids=["A4", "Letter"])
def test_the_page_fits_its_paper(screen_of, name, width):
    screen = screen_of(name)
    screen.show(width, media="print")
    assert screen.faults("sideways") == []


# Of their height, 297 mm and 11 in, the margins above and below take 34 mm.
@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize(("width", "height"), [(687, 994), (710, 927)], ids=["A4", "Letter"])
def test_what_the_owner_reads_fits_one_sheet(screen_of, name, width, height):
    screen = screen_of(name)
    screen.show(width, media="print")
    assert (
        screen.page.locator(".cover").evaluate("one => one.getBoundingClientRect().bottom + scrollY")
        <= height
    )


@every_page
@pytest.mark.parametrize("width", [360, 1440])
def test_no_words_lie_on_others(screen_of, name, width):
    screen = screen_of(name)
    screen.show(width)
    assert screen.faults("overlaps") == []


@every_page
def test_every_link_leads_somewhere(screen_of, name):
    screen = screen_of(name)
    assert screen.faults("ids") == []
    assert screen.faults("links", outside=name == "overview") == []


@every_page
@pytest.mark.parametrize(("scheme", "media"), [("light", "screen"), ("dark", "screen"), ("light", "print")])
def test_words_stand_out_from_what_is_behind_them(screen_of, name, scheme, media):
    screen = screen_of(name)
    screen.show(1280, scheme, media)
    assert screen.faults("contrast", least=4.5) == []


@every_page
def test_headings_tables_and_pictures_have_their_names(screen_of, name):
    screen = screen_of(name)
    screen.show()
    assert screen.faults("headings") == []
    assert screen.faults("tables") == []
    assert screen.faults("pictures") == []


@every_page
def test_a_keyboard_reaches_everything_and_shows_where_it_is(screen_of, name):
    screen = screen_of(name)
    screen.show(360)
    assert screen.faults("focus") == []
    screen.page.evaluate("scrollTo(0, 0); document.activeElement.blur()")
    reached = []
    for _ in range(4):
        screen.page.keyboard.press("Tab")
        reached.append(
            screen.page.evaluate(
                "(() => { const one = document.activeElement, box = one.getBoundingClientRect();"
                " return [one.outerHTML, box.bottom > 0 && box.right > 0 && box.left < innerWidth]; })()"
            )
        )
    assert len({html for html, _ in reached}) == 4
    assert all(shown for _, shown in reached)
    assert 'class="skip"' in reached[0][0]


@pytest.mark.parametrize("name", ["maple-118", "overview"])
def test_the_page_is_whole_without_script(browser, page_of, screen_of, name):
    with_script = screen_of(name)
    with_script.show()
    without = Screen(browser, page_of(name), java_script_enabled=False)
    without.show()
    text = without.page.locator("body").inner_text()
    assert len(text) > 1000
    assert text == with_script.page.locator("body").inner_text()
    without.page.context.close()

"""The looking itself: each fault is found in a page that has it, and none in one without."""

import pytest

from tests.report.browser.conftest import LOOKING, Screen

GOOD = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>good</title><style>
body { background: #fff; color: #000 } a:focus-visible { outline: 3px solid }</style></head><body>
<a href="#end">on</a><h1>One</h1><h2>Two</h2><h3>Three</h3><h2>Two</h2>
<table><caption>Joints</caption><thead><tr><th scope="col">place</th></tr></thead>
<tbody><tr><td>a</td></tr></table>
<svg role="img" aria-labelledby="t" width="90" height="20"><title id="t">a bar</title>
<rect width="90" height="20" fill="#000"></rect><text x="5" y="14" fill="#fff">white on black</text></svg>
<p id="end">end</p></body></html>"""

FAULTS = {
    "ids": "<p id=x></p><p id=x></p>",
    "links": "<a href='#none'>nowhere</a>",
    "links outside": "<a href='https://example.org/'>out</a>",
    "links no href": "<a>dead</a>",
    "links names": "<p aria-describedby=none>x</p>",
    "links clip": "<svg><g clip-path='url(#none)'></g></svg>",
    "sideways": "<p style='width: 3000px'>wide</p>",
    "overlaps": "<p style='margin: 0'>below it</p><p style='margin: -1em 0 0'>on top of it</p>",
    "headings": "<h4>four after two</h4>",
    "headings h1": "<h1>another</h1>",
    "tables caption": "<table><thead><tr><th scope=col>a<tbody><tr><td>b</table>",
    "tables scope": "<table><caption>c</caption><thead><tr><th>a<tbody><tr><td>b</table>",
    "tables head": "<table><caption>c</caption><tbody><tr><th scope=col>a</table>",
    "tables cells": "<table><caption>c</caption><thead><tr><th scope=col>a<tbody><tr><td>b<td>c</table>",
    "pictures": "<svg role=img><circle r=3 /></svg>",
    "pictures words": "<img src='data:image/gif;base64,R0lGODlhAQABAAAAACw='>",
    "focus": "<a href='#end' style='outline: none'>unseen</a>",
    "focus turn": "<a href='#end' tabindex=3>first</a>",
    "contrast": "<p style='color: #777'>4.48 on white</p>",
    "contrast faded": "<div style='opacity: .4'><p>faded</p></div>",
    "contrast dark": "<div style='background: #222'><p>dark on dark</p></div>",
    "contrast drawn": "<svg><rect width=90 height=20 fill='#333' /><text x=5 y=14>drawn</text></svg>",
    "contrast image": "<p style='background: linear-gradient(red, blue)'>on an image</p>",
}
OPTIONS = {"links": {"outside": False}, "contrast": {"least": 4.5}}


@pytest.fixture(scope="module")
def screen(browser, tmp_path_factory):
    path = tmp_path_factory.mktemp("looking") / "good.html"
    path.write_text(GOOD, encoding="utf-8")
    opened = Screen(browser, path)
    yield opened
    opened.page.context.close()


@pytest.mark.parametrize("what", sorted({name.split()[0] for name in FAULTS}))
def test_a_good_page_has_no_faults(screen, what):
    screen.page.set_content(GOOD)
    assert screen.faults(what, **OPTIONS.get(what, {})) == []


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_found(screen, fault):
    what = fault.split()[0]
    screen.page.set_content(GOOD.replace("</body>", f"{FAULTS[fault]}</body>"))
    assert len(screen.faults(what, **OPTIONS.get(what, {}))) >= 1


# WCAG 2.2, definition of contrast ratio: black on white is 21 to 1. #767676 is the lightest grey that reaches
# 4.5 on white, and #777777 the first that does not: common practice, no source.
@pytest.mark.parametrize(
    ("ink", "ratio"), [("#000000", 21.0), ("#ffffff", 1.0), ("#767676", 4.54), ("#777777", 4.48)]
)
def test_contrast_is_that_of_the_guidelines(screen, ink, ratio):
    rgb = [int(ink[at : at + 2], 16) for at in (1, 3, 5)]
    found = screen.page.evaluate(f"() => ({LOOKING.strip()}).ratio({rgb}, [255, 255, 255])")
    assert found == pytest.approx(ratio, abs=0.005)


def test_what_is_fetched_said_and_asked_is_noticed(browser, tmp_path):
    path = tmp_path / "noisy.html"
    path.write_text(
        f"{GOOD}<img src='https://example.org/x.png'><script>alert(1); console.log(2)</script>",
        encoding="utf-8",
    )
    noisy = Screen(browser, path)
    assert noisy.asked == ["https://example.org/x.png"]
    assert {one.split(":")[0] for one in noisy.said} == {"dialog", "log", "error"}
    noisy.page.context.close()

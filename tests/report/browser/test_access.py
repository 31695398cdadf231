"""Every page against an accessibility checker, in light on a wide screen, and in dark on a phone.

The checker is axe-core, with all its rules of WCAG 2.0 to 2.2, A and AA, and its best practice.
"""

import pytest

from tests.report.browser import npm
from tests.report.browser.pages import SITES

VERSION = "4.14.1"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

RUN = """async tags => {
  const found = await axe.run(document, {runOnly: {type: "tag", values: tags}, resultTypes: ["violations"]});
  const places = one => one.nodes.slice(0, 3).map(node => node.target.join(" ")).join(", ");
  const words = one => `${one.id}: ${one.help}: ${places(one)}`;
  return {rules: found.passes.length, faults: found.violations.map(words)};
}"""


@pytest.fixture(scope="module")
def axe() -> str:
    return (npm.package("axe-core", VERSION) / "axe.min.js").read_text(encoding="utf-8")


# In the dark a few pages, with every sort of thing in them: only colours differ there, and test_screen.py
# holds the contrast of every page in both.
LOOKS = [
    *((name, "light", 1440) for name in (*SITES, "overview")),
    *((name, "dark", 360) for name in ("chapel-row-5", "maple-118", "tannery-3", "overview")),
]


@pytest.mark.parametrize(("name", "scheme", "width"), LOOKS)
def test_the_checker_finds_no_fault(screen_of, axe, name, scheme, width):
    screen = screen_of(name)
    screen.show(width, scheme)
    if not screen.page.evaluate("'axe' in window"):
        screen.page.evaluate(axe)
    found = screen.page.evaluate(RUN, TAGS)
    assert found["faults"] == []
    assert found["rules"] > 15

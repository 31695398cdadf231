"""`--pdf`: what comes out of the printer, read with a reader of PDF that is not ours."""

import contextlib
import io
import math
import re
from collections import Counter
from pathlib import Path

import pypdf
import pytest

from sitelog.cli.main import main
from sitelog.views.findings import CAUTION
from tests.report.browser.pages import EXAMPLES, TODAY

# ISO 216 and ANSI/ASME Y14.1: 210 mm x 297 mm, and 8.5 in x 11 in, in points of 1/72 in.
PAPERS = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}


@pytest.fixture(scope="module")
def print_of(browser_path, tmp_path_factory):
    """A site's handover, or the overview, on paper, printed once."""
    folder = tmp_path_factory.mktemp("paper")
    made = {}

    def read(site: str, paper: str) -> pypdf.PdfReader:
        path = folder / f"{site}-{paper}.pdf"
        if path not in made:
            words = ["overview"] if site == "overview" else ["handover", site]
            on = ["--pdf", "--paper", paper, "-o", str(path)]
            assert main([*words, str(EXAMPLES), *on, "--today", TODAY]) == 0
            made[path] = path.read_bytes()
        return pypdf.PdfReader(io.BytesIO(made[path]))

    return read


def _text(page):
    return " ".join(page.extract_text().split())


PRINTS = [("chapel-row-5", "A4"), ("station-40", "Letter"), ("overview", "A4")]
each = pytest.mark.parametrize(("site", "paper"), PRINTS)
each_handover = pytest.mark.parametrize(("site", "paper"), PRINTS[:2])


@each
def test_the_paper_is_the_one_asked(print_of, site, paper):
    sizes = {
        (float(page.mediabox.width), float(page.mediabox.height)) for page in print_of(site, paper).pages
    }
    assert len(sizes) == 1
    assert sizes.pop() == pytest.approx(PAPERS[paper], abs=1)


@each
def test_every_page_is_numbered_and_named(print_of, site, paper):
    pages = print_of(site, paper).pages
    assert 3 <= len(pages) <= 40
    for number, page in enumerate(pages, 1):
        text = _text(page)
        assert f"{number} of {len(pages)}" in text
        assert site in text


@each
def test_the_first_page_tells_the_owner_everything(print_of, site, paper):
    first, second = map(_text, print_of(site, paper).pages[:2])
    assert site in first
    assert re.search(r"(?i)(not )?complete( with reservations)?", first)
    assert CAUTION in first
    assert CAUTION not in second


@each_handover
def test_a_table_over_two_pages_repeats_its_head(print_of, site, paper):
    pages = [_text(page) for page in print_of(site, paper).pages]
    headed = [
        number
        for number, text in enumerate(pages)
        if re.search(r"joint torque .{0,20}at least at most", text)
    ]
    assert len(headed) > 1
    assert headed == list(range(headed[0], headed[-1] + 1))


@each
def test_nothing_is_printed_too_small_to_read(print_of, site, paper):
    """A browser prints a page smaller that is wider than its paper. 7 pt: common practice, no source."""
    sizes = Counter()

    def count(text, page, line, _, size):
        if text.strip():
            sizes[round(size * math.hypot(*line[2:4]) * math.hypot(*page[2:4]), 1)] += len(text)

    for page in print_of(site, paper).pages:
        page.extract_text(visitor_text=count)
    assert sizes[10.0] > 100  # that of the body, as the style sheet has it
    assert min(sizes) >= 6.9


@each
def test_the_pdf_is_tagged_and_has_bookmarks(print_of, site, paper):
    pdf = print_of(site, paper)
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    kinds = _kinds(root["/StructTreeRoot"])
    assert kinds >= {"/H1", "/H2", "/Table", "/TH", "/TD", "/Link"}
    assert site in pdf.metadata.title
    assert len(next(one for one in pdf.outline if isinstance(one, list))) > 5


@pytest.mark.skipif(
    not Path("/proc/self/cmdline").exists(), reason="looks at processes where Linux shows them"
)
def test_no_browser_is_left_behind(browser_path, tmp_path):
    page = tmp_path / "page.pdf"
    assert main(["handover", "weir-house", str(EXAMPLES), "--pdf", "-o", str(page), "--today", TODAY]) == 0
    left = []
    for one in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            left += [one.parent.name] if bytes(tmp_path) in one.read_bytes() else []
    assert left == []
    assert list(tmp_path.iterdir()) == [page]


def _kinds(node):
    """Every kind of element in the tree that a screen reader goes through."""
    found, todo = set(), [node]
    while todo:
        one = todo.pop().get_object()
        if isinstance(one, list):
            todo += one
        elif isinstance(one, dict):
            found |= {one["/S"]} if "/S" in one else set()
            todo += [one["/K"]] if "/K" in one else []
    return found

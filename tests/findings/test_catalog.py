"""The catalog and its pages agree, and every page keeps to the same form."""

import ast
import re
from pathlib import Path

import pytest

from sitelog.files.source import from_bytes
from sitelog.findings import CATALOG
from sitelog.findings.catalog import GROUPS, finding, page_path
from sitelog.language.syntax import parse_line
from tests.findings.pages import LABELS, blocks, examples, page

# Pages whose subject a person could be hurt by: they end in a caution.
ELECTRICAL = {
    "not-proved",
    "under",
    "over",
    "under-torque",
    "over-torque",
    "torque-not-for-bolt",
    "out-of-order",
    "live-work",
    "too-soon",
    "wrong-test-voltage",
    "danger-open",
    "away",
    "current-kind",
}


def test_every_slug_has_a_page_and_every_page_a_slug():
    pages = {path.stem for path in Path(page_path("x")).parent.iterdir()}
    assert pages == set(CATALOG)


def test_slugs_are_words_and_stand_in_one_group():
    assert sum(map(len, GROUPS.values())) == len(CATALOG)
    for slug, one in CATALOG.items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", slug)
        assert one.slug == slug
        assert one.severity in ("error", "warning", "info")
        assert not one.title.endswith(".")


def test_a_finding_takes_its_severity_from_the_catalog():
    made = finding("decimal-comma", "8,1 read as 8.1", "a.site", 3, 5, 8, "x", "write a point")
    assert (made.severity, made.line, made.column, made.end_column) == ("info", 3, 5, 8)
    with pytest.raises(KeyError):
        finding("no-such-slug", "", "a.site", 1, 1, 1)


@pytest.mark.parametrize("slug", CATALOG)
def test_page_form(slug):
    text = page(slug)
    one = CATALOG[slug]
    assert text.startswith(f"# {slug}\n\n{one.title[0].upper()}{one.title[1:]} ({one.severity}).\n")
    places = [text.find(f"\n{label}") for label in LABELS]
    assert -1 not in places
    assert places == sorted(places)
    assert len(blocks(slug)) == 2
    assert max(map(len, text.splitlines())) <= 110
    assert ("\nCaution: " in text) == (slug in ELECTRICAL)


@pytest.mark.parametrize("slug", [slug for slug in CATALOG if examples(slug)])
def test_right_examples_can_be_read_line_by_line(slug):
    _, right = examples(slug)
    for name, text in right.items():
        source = from_bytes(text.encode(), name)
        assert source.findings == ()
        for number, line in enumerate(source.lines, 1):
            _, faults = parse_line(source.role, line, number)
            assert faults == (), line


def test_nothing_is_ever_called_compliant_or_safe_by_a_figure():
    for slug in CATALOG:
        assert not re.search(r"\b(complian\w*|complies|certified|is safe|approved)\b", page(slug)), slug


def test_pages_travel_with_the_package():
    package = Path(__file__).parents[2] / "sitelog"
    assert Path(page_path("missing")).is_relative_to(package)


def test_every_slug_that_the_code_gives_is_in_the_catalog():
    makers = {"Finding", "finding", "Fault", "Problem"}
    package = Path(__file__).parents[2] / "sitelog"
    unknown = []
    for path in package.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            slug = getattr(node.args[0], "value", None)
            if name in makers and isinstance(slug, str) and slug not in CATALOG:
                unknown.append((path.name, node.lineno, slug))
    assert unknown == []

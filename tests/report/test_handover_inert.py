"""Markup, script and marks that turn text round, in every field of a log, a sheet and a kit, stay text.

What a browser makes of such a page is tested in `browser/`.
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from sitelog.fleet.workspace import Workspace, load
from sitelog.report.handover import handover
from sitelog.report.handover.document import Cell
from sitelog.report.handover.markdown import markdown
from sitelog.report.handover.page import page_of
from sitelog.report.photos import shrunk
from tests.report.reading import Page

# Each in quotes or as free text; a name can't hold blanks, so what is written there has none.
TEXTS = {
    "script": "<script>alert(1)</script>",
    "image": "<img src=x onerror=alert(1)>",
    "quotes": "' onmouseover='alert(1)' x='",
    "cdata": "]]><svg/onload=alert(1)>",
    "entity": "&lt;b&gt;&#60;i&#62;",
    "template": "{{ 7 * 7 }}{% include 'x' %}",
    "address": "javascript:alert(1)",
    "round": "abc\u202edcba\u2066x\u200f",
    "markdown": "| a | b |\n".replace("\n", " ") + "[x](javascript:alert(1)) **b** `c` <!-- d -->",
}
NAMES = {
    "script": "<script>alert(1)</script>",
    "svg": "<svg/onload=alert(1)>",
    "amp": "a&lt;b",
    "round": "ab\u202edc",
}


def files(text: str, name: str) -> dict[str, str]:
    quiet = text.replace('"', "")
    return {
        "s.sheet": (
            f'sheet s-1 revision {name} "{quiet}"\nsource "{quiet}"\n'
            f'joint foot-1..2 8 Nm +-10 % source "{quiet}"\nlook wall caution "{quiet}"\nphoto front\n'
            f'part unit source "{quiet}"\nreading insulation a/b >= 1 MΩ at 500 V source "{quiet}"\n'
        ),
        "k.kit": (
            f"kit k-1\ntool W torque-wrench 1..20 Nm +-4 % serial {name}\n"
            f"calibrated W 2026-01-01 due 2027-01-01 cert {name}\n"
        ),
        "a.site": (
            f"# {text}\nsite a-1 \"{quiet}\"\nsheet s-1 revision {name}\nkit k-1\ncrew mo lead \"{quiet}\"\n"
            f"crew {name} apprentice\nday 2026-03-02 {text}\n"
            f"09:00 use W\n09:01 serial unit {name}\n09:05 look wall ok -- {text}\n"
            f"09:10 torque foot-1..2 8.0 6.0 Nm -- {text}\n09:11 torque foot-1 8.1 Nm by {name} -- {text}\n"
            f"09:12 strike torque foot-1 8.1 Nm -- {text}\n09:13 torque {name} 8 Nm with {name}\n"
            f"09:20 reading insulation a/b 9 MΩ at 500 V -- {text}\n09:25 ref {name} \"{quiet}\"\n"
            f"09:30 defect {name} major of {name} {text}\n09:31 photo \"{quiet}.jpg\" of {name}\n"
            f"09:32 note {text}\n09:33 todo {text}\n09:34 n/a foot-2 by mo -- {text}\n{text}\n"
            f"09:40 sign mo installed -- {text}\n09:41 received owner \"{quiet}\"\n09:42 away {text}\n"
        ),
    }  # fmt: skip


def made(folder: Path, text: str, name: str) -> Workspace:
    for file, content in files(text, name).items():
        (folder / file).write_text(content, encoding="utf-8")
    return load([str(folder)], date(2026, 3, 2))


CASES = [(text, NAMES["amp"]) for text in TEXTS.values()] + [("plain", name) for name in NAMES.values()]


@pytest.mark.parametrize(("text", "name"), CASES, ids=[*TEXTS, *(f"name {one}" for one in NAMES)])
def test_whatever_a_field_holds_makes_no_element(tmp_path, text, name):
    plain = page_of((found := made(tmp_path, "words", "word")).judged[0], found.findings)
    found = made(tmp_path, text, name)
    html = page_of(found.judged[0], found.findings)
    was, now = Page(plain), Page(html)
    assert now.unclosed == []
    assert {tag for tag, _ in now.tags} <= {tag for tag, _ in was.tags} | {"tspan", "s", "wbr"}
    assert {key for _, given in now.tags for key in given} <= {key for _, given in was.tags for key in given}
    addresses = [str(given[key]) for _, given in now.tags for key in ("href", "src") if key in given]
    assert all(one.startswith(("#", "data:image/jpeg;base64,")) for one in addresses)
    assert len(now.ids) == len(set(now.ids))
    assert "49" not in re.findall(r"alert|\b49\b", now.text)


def test_the_text_is_there_to_be_read(tmp_path):
    found = made(tmp_path, TEXTS["script"], "plain")
    now = Page(page_of(found.judged[0], found.findings))
    assert now.text.count(TEXTS["script"]) > 20


def test_marks_that_turn_text_round_are_shown(tmp_path):
    found = made(tmp_path, TEXTS["round"], NAMES["round"])
    of = handover(found.judged[0], found.findings)
    for text in (page_of(found.judged[0], found.findings), markdown(of)):
        assert not re.search(r"[\u200e\u200f\u202a-\u202e\u2066-\u2069]", text)
        assert re.search(r"abc\\+u202edcba", text)


def test_bytes_that_are_no_text_stand_in_the_page(tmp_path):
    (tmp_path / "a.site").write_bytes(b"site a-1\nday 2026-03-02\n09:00 note caf\xe9 \x1b[31m \x00\n")
    found = load([str(tmp_path)], date(2026, 3, 2))
    html = page_of(found.judged[0], found.findings)
    assert html.encode("utf-8")
    assert "caf\ufffd \\x1b[31m \\x00" in html


def test_markdown_lets_no_markup_through(tmp_path):
    found = made(tmp_path, TEXTS["markdown"], NAMES["script"])
    text = markdown(handover(found.judged[0], found.findings, shrunk))
    outside = re.sub(r"\n(`{3,})\n.*?\n\1\n", "\n", text, flags=re.DOTALL)
    assert not re.search(r"(?<!\\)<", outside)
    assert not re.search(r"(?<!\\)\[x", outside)
    width = 0
    for line in outside.split("\n"):
        bars = len(re.findall(r"(?<!\\)\|", line)) if line.startswith("|") else 0
        assert not (width and bars and bars != width), line
        width = bars


def test_cells_are_plain_text(tmp_path):
    """The facts hold what was written, and leave it to the page to escape it."""
    found = made(tmp_path, TEXTS["script"], "plain")
    of = handover(found.judged[0], found.findings)
    assert of.cover.title == TEXTS["script"]
    assert Cell(f"{TEXTS['script']}, lead") in of.cover.who

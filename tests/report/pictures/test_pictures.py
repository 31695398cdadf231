"""What all pictures have in common."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from sitelog.base.verdicts import FAILING, NOT_APPLICABLE, OPEN, VERDICTS
from sitelog.files.trials.curve import Curve
from sitelog.report.pictures.bars import bars
from sitelog.report.pictures.boxes import boxes
from sitelog.report.pictures.spread import spread
from sitelog.report.pictures.strips import strips
from sitelog.report.pictures.style import MARKERS, PALETTE, SIGNS, class_of
from sitelog.report.pictures.timeline import timeline
from sitelog.report.pictures.trend import trend
from sitelog.report.pictures.trial import trial
from tests.report.pictures.examples import all_pictures
from tests.report.pictures.looking import SVG, one, parts, spoken, words

CHECKOUT = Path(__file__).parents[3]
STYLE = (CHECKOUT / "sitelog" / "report" / "templates" / "style.css").read_text(encoding="utf-8")
PICTURES = all_pictures()
# What would do something if it reached the page as markup, and what XML 1.0 (2.2) has no place for.
NASTY = "<script>alert(1)</script>\"'&]]>--><svg onload=x> $\\frac{1}{2}$ {{ 7*7 }}\x00\x1b[31m\u202e\ud800"


@pytest.mark.parametrize("kind", PICTURES)
def test_each_is_well_formed_and_says_what_it_shows(kind):
    root = one(PICTURES[kind])
    assert root.tag == f"{SVG}svg"
    title, about = spoken(root)
    assert title.startswith("lug")
    assert about.endswith(".")
    assert re.search(r"\d", about)


@pytest.mark.parametrize("kind", PICTURES)
def test_each_stands_alone_and_holds_few_sorts_of_elements(kind):
    text = PICTURES[kind]
    assert text.startswith("<svg ")
    tags = {node.tag.removeprefix(SVG) for node in one(text).iter()}
    assert tags <= {"svg", "g", "title", "desc", "defs", "path", "use", "text", "a", "rect"}
    assert "xlink" not in text
    assert "target=" not in text


@pytest.mark.parametrize("kind", PICTURES)
def test_words_stay_words_in_the_page_s_font(kind):
    root = one(PICTURES[kind])
    assert "system-ui" in root.get("font-family", "")
    assert root.get("font-family", "").replace("'", '"') in STYLE
    assert any("lug" in word for word in words(root)) or kind == "trial"
    assert [node for node in root.iter(f"{SVG}text") if "font" in node.get("style", "")] == []


def test_many_on_one_page_share_no_id_and_find_their_own():
    page = "".join(PICTURES.values()) + "".join(all_pictures("door").values())
    seen: list[str] = []
    for root in parts(page):
        own = {node.get("id", "") for node in root.iter()} - {""}
        used = {node.get("href", "")[1:] for node in root.iter(f"{SVG}use")}
        used |= set(" ".join(node.get("aria-labelledby", "") for node in root.iter()).split())
        assert used == own
        seen += own
    assert len(seen) == len(set(seen)) > 30


def test_the_same_numbers_give_the_same_bytes_in_every_process():
    made = [
        subprocess.run(
            [sys.executable, "-m", "tests.report.pictures.examples"],
            cwd=CHECKOUT,
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert made[0] == made[1]
    assert json.loads(made[0]) == PICTURES


def test_markup_in_labels_arrives_as_words():
    for kind, picture in all_pictures(NASTY).items():
        assert "<script" not in picture
        assert not {"\x00", "\x1b", "\u202e", "\ud800"} & set(picture)
        assert r"\x1b[31m\u202e" in picture  # seen, and without effect
        root = one(picture)
        assert {node.tag for node in root.iter()} <= {
            node.tag for plain in PICTURES.values() for node in one(plain).iter()
        }
        told = " ".join(node.text or "" for node in root.iter())
        assert "<script>alert(1)</script>\"'&]]>--><svg onload=x> $\\frac{1}{2}$" in told, kind
        assert not [node for node in root.iter() if any(key.startswith("on") for key in node.attrib)]


def test_signs_of_any_script_make_no_noise():
    assert "接地端子" in all_pictures("接地端子 🔧")["strips"]  # warnings are errors here


# ---- colours -------------------------------------------------------------------------------------------
COLOUR = re.compile(r"#[0-9a-fA-F]{3,8}\b|rgb|hsl")
VARIABLE = re.compile(r"var\(--([a-z]+), (#[0-9a-f]{6})\)")


@pytest.mark.parametrize("kind", PICTURES)
def test_colours_are_the_page_s_own(kind):
    assert VARIABLE.search(PICTURES[kind])
    for node in one(PICTURES[kind]).iter():
        style = node.get("style", "")
        for name, colour in VARIABLE.findall(style):
            assert PALETTE[name] == colour
        assert not COLOUR.search(VARIABLE.sub("", style))
        assert not {"fill", "stroke", "color"} & node.attrib.keys()


def palettes() -> dict[str, dict[str, str]]:
    """The colours of light, dark and paper, as the page's style has them."""
    found = [
        dict(re.findall(r"--([a-z]+): (#[0-9a-f]{3,6})", block))
        for block in re.findall(r":root\s*\{(.*?)\}", STYLE, re.DOTALL)
    ]
    assert len(found) == 3
    return {name: found[0] | one for name, one in zip(("light", "dark", "print"), found, strict=True)}


def test_what_is_seen_outside_the_page_is_the_page_s_light_look():
    assert {name: colour for name, colour in palettes()["light"].items() if name in PALETTE} == PALETTE


def luminance(colour: str) -> float:
    """Relative luminance. WCAG 2.2, "relative luminance" in 8 Glossary."""
    plain = colour[1:] if len(colour) == 7 else "".join(digit * 2 for digit in colour[1:])
    shares = [int(plain[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio. WCAG 2.2, "contrast ratio" in 8 Glossary."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_measure_of_contrast_itself():
    assert contrast("#000", "#fff") == pytest.approx(21)  # WCAG 2.2: from 1 to 21
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # from memory: just fails


@pytest.mark.parametrize("look", ["light", "dark", "print"])
@pytest.mark.parametrize("ground", ["paper", "sheet", "band"])
@pytest.mark.parametrize("ink", ["ink", "quiet", "accent", "good", "bad", "open"])
def test_words_and_marks_stand_out(look, ground, ink):
    # WCAG 2.2, 1.4.3 asks 4.5 of words; 1.4.11 asks 3 of what must be seen to understand a picture.
    colours = palettes()[look]
    assert contrast(colours[ink], colours[ground]) >= 4.5


@pytest.mark.parametrize("kind", PICTURES)
def test_what_is_only_faint_carries_no_meaning(kind):
    # `rule` has less than 3 and draws only scales, days and the line that runs through a day.
    for node in one(PICTURES[kind]).iter():
        if node.get("class") in ("part limits", "part uncertainty", "part bounds", "part course"):
            assert "--rule" not in ElementTree.tostring(node, encoding="unicode")
        assert "--rule" not in node.get("style", "") or node.tag != f"{SVG}text"


# ---- verdicts ------------------------------------------------------------------------------------------
def test_every_verdict_has_a_class_with_a_shape_and_a_sign():
    kinds = {verdict: class_of(verdict) for verdict in (*VERDICTS, NOT_APPLICABLE)}
    assert {verdict for verdict, kind in kinds.items() if kind == "good"} == {"pass"}
    assert {verdict for verdict, kind in kinds.items() if kind == "bad"} == FAILING
    assert {verdict for verdict, kind in kinds.items() if kind in ("open", "missing")} == OPEN - FAILING
    assert set(kinds.values()) <= MARKERS.keys() & SIGNS.keys()
    assert len({SIGNS[kind] for kind in set(kinds.values())}) == len(set(kinds.values()))


def test_in_black_and_white_no_two_classes_look_alike():
    root = one(PICTURES["strips"])
    looks: dict[str, tuple[str, bool]] = {}
    for node in root.iter(f"{SVG}g"):
        if node.get("class", "").startswith("marks "):
            shape = node.find(f"{SVG}defs/{SVG}path")
            filled = "--paper" not in node.get("style", "").split("stroke")[0]
            if shape is not None:
                looks[node.get("class", "")] = (shape.get("d", ""), filled)
    assert looks.keys() >= {f"marks {kind}" for kind in ("good", "bad", "open", "quiet", "plain")}
    assert len(set(looks.values())) == len(looks)


def test_nothing_to_draw_gives_nothing():
    assert strips([], "Nm", name="n") == ""
    assert spread([], "V", name="n", allowed=None) == ""
    assert trend([("a", [])], "MΩ", name="n") == ""
    assert timeline([], name="n") == ""
    assert boxes([("a", [])], "%", name="n") == ""
    assert bars([], name="n") == ""
    assert trial(Curve((), (), (), 0), name="n") == ""
